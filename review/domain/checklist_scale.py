"""The grade scale and the pass rule of a checklist file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from review.domain.checklist import NOT_ASSESSABLE, GradeLevel, GradeScale, PassRule
from review.domain.errors import NotFound
from review.domain.toml_table import Table, repeated

FEWEST_LEVELS, MOST_LEVELS = 2, 6

SCALE_KEYS: Final[Mapping[str, tuple[str, ...]]] = {
    "scale": ("name", "levels", NOT_ASSESSABLE),
    "level": ("key", "word", "share", "points"),
    "pass": ("share", "critical", "critical_level", "section_share", "time"),
}
"""Every key of the tables that say how a sheet is graded."""


def read_scale(scale: Table | None) -> GradeScale:
    """Read the table `[scale]`; what is wrong with it is noted there."""
    if scale is None:
        return GradeScale("", ())
    scale.only(SCALE_KEYS["scale"])
    entries = scale.tables("levels", "level", needed=True)
    counted = any("points" in entry.values for entry in entries)
    levels = _counted(scale, entries) if counted else [_level(entry, entry.number("share", 0, 1)) for entry in entries]
    repeated(entries, [level.key for level in levels], "key")
    repeated(entries, [level.word for level in levels], "word")
    if entries:
        _judge_levels(scale, levels, "points" if counted else "share")
    word = scale.text(NOT_ASSESSABLE) if NOT_ASSESSABLE in scale.values else "not assessable"
    return GradeScale(scale.text("name"), (*levels, GradeLevel(NOT_ASSESSABLE, word, None)))


def pass_rule(page: Table, scale: GradeScale) -> PassRule:
    """Read the table `[pass]`; without one, every critical step must be done and nothing else is asked."""
    if "pass" not in page.values:
        return PassRule()
    rule = page.table("pass", "pass")
    if rule is None:
        return PassRule()
    rule.only(SCALE_KEYS["pass"])
    level = rule.text("critical_level") if "critical_level" in rule.values else None
    known = [found.key for found in scale.worth]
    if level and known and level not in known:
        rule.fault(str(NotFound.among("level of this scale", level, known)), "critical_level")
    return PassRule(
        share=_share(rule, "share"),
        critical=rule.switch("critical") if "critical" in rule.values else True,
        critical_level=level or None,
        section_share=_share(rule, "section_share"),
        time=rule.switch("time"),
    )


def _share(rule: Table, key: str) -> float | None:
    return rule.number(key, 0, 1) if key in rule.values else None


def _counted(scale: Table, entries: tuple[Table, ...]) -> list[GradeLevel]:
    """Read levels that are worth points: their shares follow from the most that one is worth."""
    points = [entry.number("points", 0) for entry in entries]
    most = max((worth for worth in points if worth is not None), default=0.0)
    if most == 0 and None not in points:
        scale.fault("no level is worth more than 0 points; the best one must be worth some.", "levels")
    for entry in entries:
        if "share" in entry.values:
            entry.fault("this level has points and a share; write one of them, the same for all levels.", "share")
    shares = [None if worth is None else worth / most if most else 0.0 for worth in points]
    return [_level(entry, share, worth) for entry, share, worth in zip(entries, shares, points, strict=True)]


def _level(entry: Table, share: float | None, points: float | None = None) -> GradeLevel:
    entry.only(SCALE_KEYS["level"])
    key = entry.id("key")
    if key == NOT_ASSESSABLE:
        entry.fault(
            f"the level {NOT_ASSESSABLE} is always there and not written as a level; "
            f'to give it another word write {NOT_ASSESSABLE} = "..." under [scale].',
            "key",
        )
    return GradeLevel(key, entry.text("word"), share, points)


def _judge_levels(scale: Table, levels: list[GradeLevel], noun: str) -> None:
    """Judge the levels as a whole: how many, and that they go down from the full points."""
    if not FEWEST_LEVELS <= len(levels) <= MOST_LEVELS:
        scale.fault(
            f"levels has {len(levels)}; expected {FEWEST_LEVELS} to {MOST_LEVELS}, not counting {NOT_ASSESSABLE}.",
            "levels",
        )
    shares = [level.share for level in levels if level.share is not None]
    if len(shares) < len(levels):
        return
    if noun == "share" and 1 not in shares:
        scale.fault("no level has the share 1; the best one must give the full points.", "levels")
    elif shares != sorted(shares, reverse=True):
        listed = ", ".join(f"{getattr(level, noun):g}" for level in levels)
        scale.fault(f"the {noun.removesuffix('s')}s go {listed}; expected the best level first.", "levels")
