"""The tables that have methods of their own, all within one transaction."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy.orm import Session

from review.store.accounts import Accounts
from review.store.belongings import Belongings
from review.store.bulk import Bulk
from review.store.census import Census, census
from review.store.corrections import Corrections
from review.store.courses import Courses
from review.store.dump import dump
from review.store.exemplars import Exemplars
from review.store.gradings import Gradings
from review.store.leases import Leases
from review.store.looks import Looks
from review.store.phrases import Phrases
from review.store.receipts import Receipts
from review.store.refusals import Refusals
from review.store.said_places import SaidPlaces
from review.store.sharings import Sharings
from review.store.sheets import Sheets
from review.store.signoffs import SignOffs
from review.store.standards import Standards
from review.store.uncoverings import Uncoverings
from review.store.words import Listenings


class Parts:
    """What a transaction is made of beside recordings, people and what is said; `Repository` is built on it.

    Parameters
    ----------
    session
        Open transaction.
    reading
        Whether it only reads: what was read then stays, and much of it is asked for once.
    """

    def __init__(self, session: Session, reading: bool = False) -> None:
        self._session = session
        self._reading = reading
        self._courses = Courses(session)
        self._sheets = Sheets(session, reading)
        self._uncoverings = Uncoverings(session, reading)

    def dump(self, place: Path) -> dict[str, int]:
        """Write all rows to a file, see `review.store.dump`; return how many by table."""
        return dump(self._session, place)

    def census(self) -> Census:
        """Return how much there is and what waits."""
        return census(self._session)

    def sheets(self) -> Sheets:
        """Return the table of check-off sheets, their versions, and which are retired."""
        return self._sheets

    def courses(self) -> Courses:
        """Return the tables of settings, courses and who belongs to them."""
        return self._courses

    def sharings(self) -> Sharings:
        """Return the tables of who else may see recordings."""
        return Sharings(self._session)

    def accounts(self) -> Accounts:
        """Return the tables of accounts, invitations and logins."""
        return Accounts(self._session)

    def looks(self) -> Looks:
        """Return the trail of who saw, changed or was refused what."""
        return Looks(self._session)

    def listenings(self) -> Listenings:
        """Return the setting whether what is said in films is kept."""
        return Listenings(self._session)

    def receipts(self) -> Receipts:
        """Return the table of receipts of erasures."""
        return Receipts(self._session)

    def belongings(self) -> Belongings:
        """Return what belongs to recordings, in all tables that there are."""
        return Belongings(self._session)

    def exemplars(self) -> Exemplars:
        """Return the table of stretches that show a step done well."""
        return Exemplars(self._session)

    def corrections(self) -> Corrections:
        """Return the table of corrected captions."""
        return Corrections(self._session)

    def refusals(self) -> Refusals:
        """Return the table of proposals that people refused."""
        return Refusals(self._session)

    def phrases(self) -> Phrases:
        """Return the table of sentences that people keep for their comments."""
        return Phrases(self._session)

    def gradings(self) -> Gradings:
        """Return the grades of many recordings at once."""
        return Gradings(self._session)

    def bulk(self) -> Bulk:
        """Return the way in for many new entries at once."""
        return Bulk(self._session)

    def said_places(self) -> SaidPlaces:
        """Return which steps of many recordings are marked and graded."""
        return SaidPlaces(self._session)

    def standards(self) -> Standards:
        """Return the tables that cut scores rest on."""
        return Standards(self._session)

    def uncoverings(self) -> Uncoverings:
        """Return the table of who came to see what is covered of which step."""
        return self._uncoverings

    def sign_offs(self) -> SignOffs:
        """Return the table of sign-offs."""
        return SignOffs(self._session)

    def leases(self) -> Leases:
        """Return the table of units of work that processes have taken."""
        return Leases(self._session)
