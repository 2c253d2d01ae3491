/**
 * Who is examined, where several people are in the film: shows whom the machine takes for that person, and lets a person
 * point at another.
 */
import { clockText } from "./format.js";
import { h, setText } from "./dom.js";

export class Who {
  /**
   * @param {HTMLElement} layer lies over the film
   * @param {HTMLElement} opener button that opens it
   * @param {{point: (time: number, x: number, y: number) => void, unpoint: () => void, at: () => number,
   *          seek: (time: number) => void, left: () => void}} deeds
   */
  constructor(layer, opener, deeds) {
    this.layer = layer;
    this.opener = opener;
    this.deeds = deeds;
    this.words = h("p", { class: "who-words", role: "status" });
    this.again = h("button", { type: "button", class: "plain", text: "Guess again", onclick: () => this.done(() => deeds.unpoint()) });
    const close = h("button", { type: "button", class: "plain", text: "Close", data: { testid: "who-close" }, onclick: () => this.close() });
    this.boxes = h("div", { class: "who-boxes" });
    layer.replaceChildren(this.boxes, h("div", { class: "who-bar" }, this.words, this.again, close));
    layer.addEventListener("click", (event) => event.target === this.boxes && this.pointAt(event));
    layer.addEventListener("keydown", (event) => {
      event.stopPropagation();
      if (event.key === "Escape") this.close();
    });
  }

  /** Take what the page says of the recording. */
  show(recording, person) {
    this.recording = recording;
    this.person = person;
    this.opener.hidden = recording.people < 2 && !recording.pointed;
    const text = recording.pointed ? "Who is examined " : "Who is examined? ";
    setText(this.opener.firstChild, text);
  }

  async open() {
    const answer = await fetch(`/api/people/${this.recording.id}?as=${encodeURIComponent(this.person.code)}`, { credentials: "same-origin" });
    this.looks = answer.ok ? (await answer.json()).looks.filter((look) => look.people.length) : [];
    this.layer.hidden = false;
    this.again.hidden = !this.recording.pointed;
    const look = this.nearest(this.deeds.at());
    if (look) this.deeds.seek(look.time_s);
    this.draw(look);
  }

  nearest(time) {
    return this.looks.reduce((best, look) =>
      (!best || Math.abs(look.time_s - time) < Math.abs(best.time_s - time) ? look : best), null);
  }

  draw(look) {
    const several = look && look.people.length > 1 ? "Click the examined person." : "Go to a moment where both are seen, then click the examined person.";
    setText(this.words, look ? `${several} It holds from ${clockText(look.time_s, 0)} on.` : "Nobody was found in this film yet. Wait until it is analysed.");
    this.look = look;
    const { left, top, width, height } = this.picture();
    this.boxes.style.cssText = `left:${left}px;top:${top}px;width:${width}px;height:${height}px`;
    this.boxes.replaceChildren(...(look?.people ?? []).map((one, place) => {
      const name = one.examined ? (one.sure ? "Examined" : "Examined, not sure") : `Person ${place + 1}`;
      const box = h("button", {
        type: "button", class: "who-box", data: { testid: "who-box", examined: one.examined },
        style: `left:${100 * one.x}%;top:${100 * one.y}%;width:${100 * one.width}%;height:${100 * one.height}%`,
        onclick: () => this.point(one.x + one.width / 2, one.y + one.height / 2),
      }, h("span", { text: name }));
      return box;
    }));
    (this.boxes.querySelector("button") ?? this.layer.querySelector("[data-testid=who-close]"))?.focus();
  }

  /** Where the picture lies within the layer: the film keeps its shape. */
  picture() {
    const { clientWidth, clientHeight } = this.layer;
    const scale = Math.min(clientWidth / this.recording.width_px, clientHeight / this.recording.height_px);
    const [width, height] = [this.recording.width_px * scale, this.recording.height_px * scale];
    return { left: (clientWidth - width) / 2, top: (clientHeight - height) / 2, width, height };
  }

  pointAt(event) {
    const around = this.boxes.getBoundingClientRect();
    this.point((event.clientX - around.left) / around.width, (event.clientY - around.top) / around.height);
  }

  point(x, y) {
    const within = (share) => Math.min(1, Math.max(0, share));
    this.done(() => this.deeds.point(this.look ? this.look.time_s : this.deeds.at(), within(x), within(y)));
  }

  done(deed) {
    deed();
    this.close();
  }

  close() {
    this.layer.hidden = true;
    this.deeds.left();
  }
}
