/** The step done well, or one's own earlier attempt at it, beside the film: both in step, both repeated. */
import { h, setText } from "./dom.js";
import { Lockstep } from "./lockstep.js";
import { Player } from "./player.js";

const SAME_SHAPE = 0.05;

/**
 * What can be shown beside a step.
 * @param {{exemplars?: object[]}} state @param {{own_attempts?: object[]}} data @param {{step: string, side: string|null}} row
 * @returns {object[]} exemplars first, each with a `key` and `words`
 */
export function choicesOf(state, data, row) {
  const fits = (one) => one.step === row.step && (one.side ?? null) === (row.side ?? null) && one.src;
  const exemplars = (state.exemplars ?? data.exemplars ?? []).filter(fits)
    .map((one) => ({ ...one, key: one.id, words: `Exemplar of ${one.person}: ${one.name}` }));
  const earlier = (data.own_attempts ?? []).filter(fits)
    .map((one) => ({ ...one, key: `${one.recording}|${one.onset_s}`, words: `Attempt ${one.attempt}: ${one.name}` }));
  return [...exemplars, ...earlier];
}

export class Beside {
  /**
   * @param {object} first player of one's own film
   * @param {{close: () => void, attach: () => void, detach: (id: string) => void, chosen: () => void}} deeds
   */
  constructor(first, deeds) {
    this.deeds = deeds;
    this.first = first;
    this.on = false;
    this.choice = h("select", { "aria-label": "What is shown beside", data: { testid: "beside-choice" } });
    this.choice.addEventListener("change", () => this.choose(this.choice.value));
    const button = (testid, text, onclick) => h("button", { type: "button", class: "plain", text, onclick, data: { testid } });
    this.attach = button("beside-attach", "Make this the exemplar", () => deeds.attach());
    this.detach = button("beside-detach", "No longer an exemplar", () => deeds.detach(this.shown.id));
    const close = button("beside-close", "Close", () => deeds.close());
    this.video = h("video", { playsinline: true, preload: "auto", "aria-label": "Film beside", data: { testid: "beside-video" } });
    this.video.muted = true;
    this.said = h("p", { class: "beside-said", role: "status", data: { testid: "beside-said" } });
    this.element = h("section", { class: "beside", "aria-label": "Exemplar beside", hidden: true, data: { testid: "beside" } },
      h("div", { class: "beside-film" }, this.video, this.said),
      h("div", { class: "beside-bar" }, this.choice, this.attach, this.detach, close));
    this.second = new Player(this.video, {
      moved: () => {}, shown: () => this.lockstep.follow(), state: () => {}, ended: () => {},
      ready: () => this.arrived(), trouble: () => this.lost(),
    });
    this.lockstep = new Lockstep(first, this.second);
  }

  /** @param {object} scene row, span (the step's seconds here), choices, me, picture (width and height in px) */
  show(scene) {
    this.scene = scene;
    this.element.hidden = !this.on || !scene.row;
    if (this.element.hidden) return;
    const { choices, span, me } = scene;
    this.showChoices(choices);
    this.attach.hidden = me.role !== "instructor" || !span;
    this.take(choices.find((one) => one.key === this.picked) ?? choices[0] ?? null);
    this.detach.hidden = !this.shown?.mine || !this.shown?.id;
    this.tell();
  }

  showChoices(choices) {
    const signature = JSON.stringify(choices.map((one) => [one.key, one.words]));
    this.choice.hidden = !choices.length;
    if (signature === this.signature) return;
    this.signature = signature;
    this.choice.replaceChildren(...choices.map((one) => h("option", { value: one.key, text: one.words })));
  }

  choose(key) {
    this.picked = key;
    this.show(this.scene);
    this.deeds.chosen();
  }

  /** Load what was chosen, and pair it with the step here. */
  take(choice) {
    this.shown = choice;
    this.choice.value = choice?.key ?? "";
    this.video.hidden = !choice;
    if (!choice && this.second.source) this.second.unload();
    if (choice && choice.src !== this.second.source) {
      this.state = "coming";
      this.second.load(choice.src, choice.times, 0);
    }
    this.video.classList.toggle("flipped", Boolean(choice?.mirrored));
    this.pair();
  }

  pair() {
    const { span } = this.scene;
    const signature = JSON.stringify([this.shown?.key, this.shown?.onset_s, this.shown?.offset_s, span?.onset_s, this.second.clock.count]);
    if (signature === this.paired) return;
    this.paired = signature;
    if (!this.shown) this.lockstep.begin(null);
    else if (span) this.lockstep.begin({ from: span.onset_s, beside: this.shown });
    else {
      this.lockstep.begin(null);
      this.second.toTime(this.shown.onset_s);
    }
  }

  /** Its frame times came: it is there, unless it was found lost before them. */
  arrived() {
    if (this.video.error || this.state === "lost") return;
    this.state = "there";
    this.pair();
    this.tell();
  }

  lost() {
    this.state = "lost";
    this.tell();
  }

  tell() {
    const text = this.words();
    setText(this.said, text);
    this.said.hidden = !text;
  }

  words() {
    const { span, me, picture } = this.scene;
    if (!this.shown && me.role === "instructor") {
      return span ? "No exemplar of this step yet. Your mark of it here can become one." : "No exemplar of this step yet. Mark the step here, then make it one.";
    }
    if (!this.shown) return "No exemplar of this step yet, and no earlier attempt at it.";
    if (this.state === "lost") return "This film cannot be played: it may have been erased. Choose another one.";
    if (this.state === "coming") return "Fetching the film";
    if (!span) return "Mark this step here: then both start together.";
    const shapes = [picture.width / picture.height, this.shown.width_px / this.shown.height_px];
    return Math.abs(shapes[0] / shapes[1] - 1) > SAME_SHAPE ? "The two pictures are of unlike shape; both are shown whole." : "";
  }

  /** The stretch that both are repeated over: as long as the longer of the two. */
  get span() {
    const span = this.scene?.span;
    if (!this.on || !span || !this.shown || this.state !== "there") return null;
    return { onset_s: span.onset_s, offset_s: span.onset_s + Math.max(span.offset_s - span.onset_s, this.shown.offset_s - this.shown.onset_s) };
  }

  /** The film here moved on, or came to rest. */
  moved() {
    if (!this.on) return;
    if (this.first.playing) this.lockstep.follow();
    else this.lockstep.settle();
  }

  destroy() {
    this.second.destroy();
  }
}
