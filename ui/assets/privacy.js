/** The Privacy page: who can see which recording and why, consents, who looked, dates and receipts. */
import { dayText, emptyPage } from "./chooser.js";
import { ConsentDialog } from "./consent.js";
import { followTheme, h, keeping, peopleOptions } from "./dom.js";
import { erasing } from "./erasing.js";
import { mineSection } from "./privacy_mine.js";
import { ask } from "./sheets_ask.js";

/** How many codes are named in one line. */
const MOST_CODES = 12;

class Page {
  /** @param {HTMLElement} root */
  constructor(root) {
    this.root = root;
    this.person = h("select", { data: { testid: "person" }, onchange: () => this.setState("person", this.person.value) });
    this.status = h("p", { class: "status", role: "status", data: { testid: "status" } });
    this.body = h("div", { class: "privacy-body" });
    this.consent = new ConsentDialog(() => this.show());
    const heading = h("header", { class: "heading" }, h("h1", { text: "Privacy" }),
      h("div", { class: "choices" }, h("label", { class: "who" }, "Working as", this.person)));
    root.replaceChildren(heading, this.status, this.body, this.consent.element);
  }

  update({ data, setStateValue }) {
    this.setState = setStateValue;
    followTheme(this.root);
    const people = JSON.stringify([data.people, data.as]);
    if (people === this.people) return;
    this.people = people;
    this.as = data.as;
    this.person.replaceChildren(...peopleOptions(data.people, data.as));
    this.show();
  }

  /** Ask anew and show it. @param {string} [text] told once it is there */
  async show(text = "") {
    this.take(await ask("/api/privacy", this.as), text);
  }

  take({ ok, said }, text = "") {
    if (this.gone) return;
    this.status.textContent = ok ? text : said.message;
    if (!ok) return;
    this.body.replaceChildren(
      h("p", { class: "lead", text: said.signing_in
        ? "People sign in here. Who is not named below cannot see the recording. Nothing is sent anywhere."
        : "Nobody signs in on this machine: whoever opens Runthrough here can work as anybody and see every recording whose consent was not taken back. Nothing is sent anywhere." }),
      this.recordings(said), datesSection(said, this), mineSection(this.as), receiptsSection(said, this.as));
  }

  recordings({ recordings, more }) {
    const rest = more ? h("p", { class: "quiet-line", text: `${more} older recordings are not listed here.` }) : null;
    const rows = recordings.map((one) => this.row(one));
    return section("Recordings", rows.length ? h("ol", { class: "plan" }, ...rows) : emptyPage("None for which you note what the examined person agreed to. Add a film on the page Recordings first."), rest);
  }

  row(one) {
    const who = one.who.length
      ? one.who.map(({ why, codes }) => h("li", {}, h("b", { text: listed(codes) }), ` ${why}`))
      : [h("li", { text: "nobody" })];
    const dated = one.erased_on ? ` To be erased on ${dayText(one.erased_on)}.` : "";
    const looks = h("details", { ontoggle: (event) => event.target.open && this.looks(one.id, event.target) }, h("summary", { text: "Who looked", "aria-label": `Who looked at ${one.title}` }));
    return h("li", { data: { testid: "private", id: one.id } },
      h("div", { class: "plan-head" }, h("b", { text: one.title }), h("span", { class: "deed-line" },
        h("button", { type: "button", class: "plain", text: "Consent", "aria-label": `Consent to ${one.title}`, data: { testid: "consent-of" }, onclick: () => this.consent.open(one.id, this.as) }),
        erasing({ id: one.id, name: one.title }, this.as, () => this.show()))),
      h("p", { class: one.withdrawn ? "parted" : "", text: `Examined person: ${one.consent}.${dated}` }),
      h("p", { class: "quiet-line", text: "Can see it now:" }), h("ul", { class: "sees", data: { testid: "sees" } }, ...who), looks);
  }

  async looks(id, place) {
    const { ok, said } = await ask(`/api/looks/${encodeURIComponent(id)}`, this.as);
    place.querySelector(".looks, p")?.remove();
    if (!ok) return place.append(h("p", { text: said.message }));
    place.append(said.looks.length ? looksTable(said.looks) : h("p", { class: "quiet-line", text: "Nobody else, and no file was made of it." }));
  }

  destroy() {
    this.gone = true;
  }
}

/** The codes of a few people, or the first of many and how many more. @param {string[]} codes */
function listed(codes) {
  const few = codes.slice(0, MOST_CODES).join(", ");
  return codes.length > MOST_CODES ? `${few} and ${codes.length - MOST_CODES} more` : few;
}

function looksTable(looks) {
  const head = ["When", "Who", "What", "Outcome"].map((text) => h("th", { scope: "col", text }));
  const rows = looks.map((one) => h("tr", {}, h("td", { text: one.at.replace("T", " ").slice(0, 16) }), h("th", { scope: "row", text: one.who }),
    h("td", { text: one.what ? `${one.deed}: ${one.what}` : one.deed }), h("td", { text: one.allowed ? "done" : "refused" })));
  return h("div", { class: "scrolled looks", tabindex: "0", role: "group", "aria-label": "Who looked" },
    h("table", { class: "counts", data: { testid: "looks" } }, h("thead", {}, h("tr", {}, ...head)), h("tbody", {}, ...rows)));
}

function section(title, ...children) {
  return h("section", {}, h("h2", { text: title }), ...children.filter(Boolean));
}

function datesSection({ signing_in: signingIn, days, may_set_days: may, trail_days: trail }, page) {
  const kept = `Who looked is kept for ${trail} days.`;
  if (signingIn) return section("Dates", h("p", { text: `Each course says when its recordings are erased; the date stands beside each recording. ${kept}` }));
  const now = days ? `Recordings are erased ${days} days after they were added, with a receipt.` : "Nothing is erased by itself: no date is set.";
  const field = h("input", { type: "number", min: "1", max: "3650", step: "1", value: days ?? "", id: "days", placeholder: "never", data: { testid: "days" } });
  const form = h("form", { class: "days" }, h("label", { for: "days", text: "Erase recordings after so many days (empty: never)" }), field,
    h("button", { type: "submit", class: "plain", text: "Set", data: { testid: "set-days" } }));
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    page.take(await ask("/api/retention", page.as, { days: field.value === "" ? null : Number(field.value) }), "Set.");
  });
  return section("Dates", h("p", { data: { testid: "dates" }, text: `${now} ${kept}` }), may && form);
}

function receiptsSection({ receipts }, code) {
  const rows = receipts.map((one) => h("li", { data: { testid: "receipt" } },
    h("details", {}, h("summary", { text: `${dayText(one.at)}: recording ${one.recording} of ${one.of}${one.holds ? "" : ", not proved"}` }),
      h("ul", { class: "sentences" }, ...one.lines.map((text) => h("li", { text }))),
      h("a", { href: `/api/receipt/${encodeURIComponent(one.id)}/paper?as=${encodeURIComponent(code)}`, target: "_blank", rel: "noopener", text: "To print, with every file" }))));
  return section("Receipts of what was erased", rows.length ? h("ol", {}, ...rows) : h("p", { class: "quiet-line", text: "Nothing was erased yet." }));
}

export default keeping("[data-privacy]", Page);
