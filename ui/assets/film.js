/**
 * The film and all that belongs to looking at it: speed, loop, how near, dividers; and what a person left them at.
 */
import { Beside, choicesOf } from "./beside.js";
import { Captions } from "./captions.js";
import { Chapters } from "./chapters.js";
import { Divider } from "./dividers.js";
import { h, setText } from "./dom.js";
import { Loop } from "./loop.js";
import { keep, recall } from "./memory.js";
import { Overlay } from "./overlay.js";
import { SPEEDS } from "./player.js";
import { newName } from "./queue.js";
import { Stage } from "./stage.js";

export class Film {
  /** @param {object} board */
  constructor(board) {
    this.board = board;
    const { film, lens } = board.parts;
    this.stage = new Stage(film, lens, { changed: () => this.changed(), clicked: () => board.act("play") });
    this.overlay = new Overlay(film, lens, this.stage);
    const over = h("div", { class: "captions" });
    film.append(over);
    this.comments = new Captions(board.parts.video, over, { label: "Comments", testid: "comment-caption" });
    this.captions = new Captions(board.parts.video, over, { label: "What is said", testid: "caption" });
    this.chapters = new Chapters(board.parts.video, board.parts.chapter);
    this.beside = new Beside(board.player, {
      close: () => this.toggleBeside(), attach: () => this.attachExemplar(), chosen: () => board.focus(),
      detach: (id) => board.push({ op: "detach_exemplar", exemplar_id: id }),
    });
    film.after(this.beside.element);
    this.loop = new Loop(board.player, () => this.beside.span ?? this.span, () => this.beside.span !== null);
    this.dividers = [this.betweenHalves(), this.underPicture()];
    for (const divider of this.dividers) divider.recall();
  }

  /** The stretch of the step in hand: one's own mark, else another's; null where none is closed. */
  get span() {
    const { board } = this;
    if (!board.row || !board.state) return null;
    const closed = [board.mine.mark, ...board.mine.otherMarks].filter((mark) => mark && mark.offset_s > mark.onset_s);
    return closed[0] ?? null;
  }

  /** Another recording or person: take up what was left. @param {{recording: object, me: object}} data */
  begin({ recording, me }) {
    this.remember();
    this.key = null;
    const key = `runthrough.film.${recording.id}.${me.id}`;
    const kept = recall(key);
    this.stage.show(recording.width_px, recording.height_px);
    this.board.player.speed = SPEEDS.includes(kept.speed) ? kept.speed : 1;
    this.loop.on = kept.loop === true;
    this.overlay.set(kept.overlay === true);
    this.beside.on = kept.beside === true;
    this.captions.set(kept.captions === true);
    this.comments.set(kept.comments === true);
    this.corrected = "";
    this.stage.look(kept.view);
    this.place = Number.isFinite(kept.time) ? kept.time : null;
    this.key = key;
  }

  /** Note what is to be found again the next time. */
  remember() {
    if (!this.key) return;
    const { player } = this.board;
    const time = player.clock.count ? player.time : this.place;
    keep(this.key, { time, speed: player.speed, loop: this.loop.on, overlay: this.overlay.on, beside: this.beside.on, captions: this.captions.on, comments: this.comments.on, view: this.stage.view });
  }

  /** Show what the board knows. */
  show() {
    const { data, parts, player } = this.board;
    this.stage.show(data.recording.width_px, data.recording.height_px);
    parts.speed.value = String(player.speed);
    this.press(parts.loop, this.loop.on);
    this.press(parts.overlay, this.overlay.on);
    this.overlay.show(this.scene());
    this.press(parts.captions, this.captions.on);
    this.press(parts.commentTrack, this.comments.on);
    this.captions.track.show(this.captionsUrl());
    this.comments.track.show(this.commentsUrl());
    this.chapters.track.show(this.chaptersUrl());
    this.press(parts.beside, this.beside.on);
    this.showBeside();
  }

  /** Where captions come from: another address whenever more was listened to, or a caption was corrected here. */
  captionsUrl() {
    const { analysis } = this.board.data.recording;
    return this.textUrl("captions", `${analysis?.state} ${analysis?.done} ${this.corrected}`);
  }

  /** Captions were corrected. @param {string} state a text that changes with them */
  correctedTo(state) {
    this.corrected = state;
    this.captions.track.show(this.captionsUrl());
  }

  /** Where comments come from: another address whenever they, or what is covered, change. */
  commentsUrl() {
    const { comments, sections } = this.board.data;
    const bare = comments.filter((one) => !one.covered).map((one) => [one.id, one.onset_s, one.offset_s, one.text, one.resolved]);
    const covered = sections.flatMap((section) => section.rows.map((row) => Number(row.covered))).join("");
    return this.textUrl("comments", JSON.stringify(bare) + covered);
  }

  /** Where one's own marks come from as chapters: another address whenever the store has other ones. */
  chaptersUrl() {
    const own = this.board.data.marks.filter((mark) => mark.mine).map((mark) => [mark.id, mark.step, mark.side, mark.onset_s, mark.offset_s]);
    return this.textUrl("chapters", JSON.stringify(own));
  }

  textUrl(kind, state) {
    const { recording, me } = this.board.data;
    return `/api/${kind}/${recording.id}.vtt?as=${encodeURIComponent(me.code)}&state=${hashOf(state)}`;
  }

  /** @param {"captions"|"comments"} which */
  toggleWords(which) {
    this[which].set(!this[which].on);
    this.show();
    this.remember();
  }

  showBeside() {
    const { data, state, row, parts } = this.board;
    const picture = { width: data.recording.width_px, height: data.recording.height_px };
    this.beside.show({ row, span: this.span, choices: row ? choicesOf(state, data, row) : [], me: data.me, picture });
    parts.stage.classList.toggle("with-beside", !this.beside.element.hidden);
  }

  toggleBeside() {
    this.beside.on = !this.beside.on;
    if (!this.beside.on) this.beside.video.pause();
    this.show();
    this.beside.moved();
    this.remember();
    this.board.focus();
  }

  /** One's own mark of the step in hand, or another's, becomes the exemplar of it. */
  attachExemplar() {
    const { onset_s, offset_s } = this.span;
    this.board.push({ op: "attach_exemplar", exemplar_id: newName(), ...this.board.place, onset_s, offset_s });
    this.board.say("This is the exemplar of the step now.");
  }

  /** What is drawn over the picture. */
  scene() {
    const { data, row } = this.board;
    const { id, analysis } = data.recording;
    const place = row && { step: row.step, side: row.side, measured: row.measures.length > 0, covered: row.covered };
    return { recording: id, person: data.me.code, state: `${analysis?.state}-${analysis?.done}`, span: this.span, ...place };
  }

  press(button, on) {
    button.setAttribute("aria-pressed", String(on));
  }

  /** The film began to play, or came to rest. */
  played() {
    const { playing } = this.board.player;
    if (playing && !this.playing) this.loop.started();
    if (!playing) this.remember();
    this.playing = playing;
    this.beside.moved();
  }

  /** The film went on. @param {number} time seconds */
  moved(time) {
    if (this.board.player.playing) this.loop.passed(time);
    this.beside.moved();
  }

  /** Another frame is on the screen. @param {number} frame */
  shown(frame) {
    this.overlay.at(this.board.player.clock.timeOf(frame));
  }

  toggleOverlay() {
    this.overlay.set(!this.overlay.on);
    this.shown(this.board.player.onScreen);
    this.show();
    this.remember();
  }

  /** The part of the picture that is seen changed, or its size. */
  changed() {
    this.overlay?.draw();
    this.board.remarks.shapes.draw();
    clearTimeout(this.later);
    this.later = setTimeout(() => this.remember(), 400);
  }

  /** @param {number} speed */
  setSpeed(speed) {
    this.board.player.speed = speed;
    setText(this.board.parts.nearWords, `Speed: ${speed} times`);
    this.show();
    this.remember();
  }

  /** @param {number} steps up the list of speeds (negative: down) */
  faster(steps) {
    const here = SPEEDS.indexOf(this.board.player.speed);
    this.setSpeed(SPEEDS[Math.max(0, Math.min(SPEEDS.length - 1, (here < 0 ? SPEEDS.indexOf(1) : here) + steps))]);
  }

  toggleLoop() {
    this.loop.on = !this.loop.on;
    if (this.loop.on && !this.loop.held) this.board.say("The loop waits: this step has no start and end yet.");
    if (this.loop.on && this.board.player.playing) this.loop.started();
    this.show();
    this.remember();
  }

  betweenHalves() {
    const { root, parts } = this.board;
    const divider = new Divider({
      way: "columns", label: "Width of film and timeline", testid: "divider-columns", key: "runthrough.divider.columns", least: 0.35, most: 0.72,
      around: () => parts.halves.getBoundingClientRect(),
      share: () => parts.left.offsetWidth / Math.max(1, parts.halves.offsetWidth),
      sized: (share) => {
        root.style.setProperty("--left-share", share === null ? "" : `${(100 * share).toFixed(2)}%`);
        parts.halves.classList.toggle("sized", share !== null);
      },
    });
    parts.left.after(divider.element);
    return divider;
  }

  underPicture() {
    const { parts } = this.board;
    const divider = new Divider({
      way: "rows", label: "Height of the picture", testid: "divider-rows", key: "runthrough.divider.rows", least: 0.25, most: 0.7,
      around: () => parts.left.getBoundingClientRect(),
      share: () => parts.stage.offsetHeight / Math.max(1, parts.left.offsetHeight),
      sized: (share) => {
        parts.left.style.setProperty("--stage-share", share === null ? "" : `${(100 * share).toFixed(2)}%`);
        parts.left.classList.toggle("sized", share !== null);
      },
    });
    parts.timeline.before(divider.element);
    return divider;
  }

  /** Take away what is larger than life and tell how near one is. @param {number} steps nearer; 0: the whole */
  nearer(steps) {
    if (steps) this.stage.nearer(steps);
    else this.stage.whole();
    setText(this.board.parts.nearWords, steps ? `Picture ${this.stage.view.scale.toFixed(1)} times nearer` : "Whole picture");
  }

  destroy() {
    this.remember();
    clearTimeout(this.later);
    this.stage.destroy();
    this.beside.destroy();
  }
}

/** A short number for a text: another text hardly ever has the same. @param {string} text */
function hashOf(text) {
  let hash = 2166136261;
  for (let at = 0; at < text.length; at++) hash = Math.imul(hash ^ text.charCodeAt(at), 16777619);
  return (hash >>> 0).toString(36);
}
