/**
 * The board of the Review page: film, timeline and contact sheet in one component.
 *
 * The page calls the default export again whenever its data or the theme change; the same board answers, so the
 * film is never loaded anew.
 */
import { Traces } from "./curves.js";
import { followTheme, h, setText } from "./dom.js";
import { EntryField } from "./entry.js";
import { analysisText, clockText } from "./format.js";
import { Compose, Hand } from "./hand.js";
import { keyDialog, listenToKeys } from "./keys.js";
import { Player } from "./player.js";
import { claim, newName, Queue } from "./queue.js";
import { titleOf } from "./row.js";
import { Sheet } from "./sheet.js";
import { byTime, edgeOperation, firstToDo, ofRow, overlay, rowsOf } from "./state.js";
import { Timeline } from "./timeline.js";
import { skeleton } from "./skeleton.js";
import { Who } from "./who.js";

/** @type {WeakMap<Node, Board>} */
const BOARDS = new WeakMap();

/** @param {{parentElement: ParentNode, data: object, setStateValue: Function}} component */
export default function mount(component) {
  const { parentElement } = component;
  let board = BOARDS.get(parentElement);
  if (!board || board.gone) {
    board = new Board(parentElement.querySelector("[data-board]"));
    BOARDS.set(parentElement, board);
  }
  try {
    board.update(component);
  } catch (error) {
    console.error(error); // thrown on, it would take the whole board, and the film with it, off the page
    board.say("This page could not be brought up to date. Reload it; what was kept stays.", true);
  }
  return () => board.destroy();
}

class Board {
  /** @param {HTMLElement} root */
  constructor(root) {
    this.root = root;
    this.stop = new AbortController();
    this.parts = skeleton(root, (deed, argument) => this.act(deed, argument));
    this.dialog = root.appendChild(keyDialog());
    this.traces = new Traces(() => this.scheduleRender());
    const seek = (time, key) => this.seek(time, key);
    this.sheet = new Sheet(this.parts.sheet, {
      seek, visit: (key) => this.visit(key), grade: (digit) => this.act("grade", digit),
      confidence: (level) => this.act("confidence", level), ungrade: () => this.act("ungrade"), uncover: () => this.uncover(),
      answer: (comment) => this.openComment(comment), removeComment: (comment) => this.push({ op: "remove_comment", comment_id: comment.id }),
    });
    this.timeline = new Timeline(this.parts.timeline, { seek, select: (key) => this.select(key), traces: this.traces });
    this.hand = new Hand(this.parts.hand, (deed, argument) => this.act(deed, argument));
    this.entry = new EntryField(this.parts.entry, (deed, argument) => this.act(deed, argument));
    this.compose = new Compose(this.parts.compose, { keep: (text) => this.keepComment(text), left: () => this.focus() });
    this.player = new Player(this.parts.video, {
      moved: (frame, time) => this.moved(frame, time), ready: () => this.goBack(), trouble: (message) => this.say(message, true), state: () => this.showPlaying(),
    });
    this.who = new Who(this.parts.who, this.parts.examined, {
      point: (time_s, x, y) => this.push({ op: "point", time_s, x, y }), unpoint: () => this.push({ op: "unpoint" }),
      at: () => this.player.time, seek, left: () => this.focus(),
    });
    this.listen();
  }

  listen() {
    listenToKeys(this.root, (deed, argument) => this.act(deed, argument), this.stop.signal);
    this.root.addEventListener("click", (event) => {
      const onButton = event.detail > 0 && event.target.closest("button");
      if (onButton && this.parts.compose.hidden && !this.dialog.open) this.focus();
    }, { signal: this.stop.signal });
    this.fitter = new ResizeObserver(() => this.fit());
    this.fitter.observe(document.documentElement);
    window.addEventListener("pagehide", () => this.remember(), { signal: this.stop.signal });
    window.addEventListener("resize", () => this.fit(), { signal: this.stop.signal });
  }

  /** Take what the page says. */
  update({ data, setStateValue }) {
    this.setState = setStateValue;
    const fresh = !this.data || this.data.recording.id !== data.recording.id || this.data.me.id !== data.me.id;
    this.data = data;
    this.rows = rowsOf(data);
    if (fresh) this.begin(data);
    followTheme(this.root);
    this.queue.acknowledge(data.client, data.ack);
    this.tellFaults(data);
    this.player.load(data.src, data.times, data.recording.start_s ?? 0);
    this.render();
    this.fit();
  }

  /** A recording or a person came that was not here before. */
  begin(data) {
    this.release?.abort();
    this.release = new AbortController();
    this.memory = `runthrough.view.${data.recording.id}.${data.me.id}`;
    const kept = this.recall();
    const known = (key) => this.rows.some((row) => row.key === key);
    this.key = [kept.key, this.key].find(known) ?? firstToDo(this.rows, data)?.key;
    this.kept = kept;
    this.uncovered = kept.uncovered === true;
    this.closeUp = false;
    this.faultSeen = 0;
    this.fault = null;
    this.queue = new Queue(`${data.recording.id}.${data.me.id}`, sessionStorage, (message) =>
      this.setState("queue", { ...message, recording: data.recording.id, person: data.me.code }));
    const queue = this.queue;
    claim(queue.client, this.release.signal).then((alone) => {
      queue.open(alone);
      this.scheduleRender();
    });
    clearInterval(this.retry);
    this.retry = setInterval(() => queue.ops.length && queue.flush(), 6000);
    if (document.activeElement === document.body) this.focus();
    requestAnimationFrame(() => this.key && this.sheet.reveal(this.key));
  }

  recall() {
    try {
      return JSON.parse(sessionStorage.getItem(this.memory) ?? "{}");
    } catch {
      return {};
    }
  }

  remember() {
    try {
      sessionStorage.setItem(this.memory, JSON.stringify({ key: this.key, uncovered: this.uncovered, time: this.player.time }));
    } catch {
      this.forgetful = true;
    }
  }

  // ---------------------------------------------------------------- deeds

  get row() {
    return this.rows.find((row) => row.key === this.key);
  }

  get place() {
    return { step: this.row.step, side: this.row.side ?? null };
  }

  /** Do what a key or a button stands for. */
  act(deed, argument) {
    if (!this.row && !["play", "step", "skip", "keys", "speed", "person", "examined"].includes(deed)) return;
    this.deeds ??= {
      play: () => this.player.toggle(), step: (count) => this.player.step(count), skip: (seconds) => this.player.skip(seconds),
      row: (count) => this.moveRow(count), edge: (edge) => this.setEdge(edge), start: () => this.goToStart(),
      unmark: () => this.clearMark(), grade: (digit) => this.grade(digit),
      confidence: (level) => this.sure(level), ungrade: () => this.push({ op: "withdraw_grade", ...this.place }),
      enter: (entry) => this.push({ op: "enter", ...entry }), unenter: () => this.push({ op: "withdraw_entry", ...this.place }),
      entry: () => this.entry.open() || this.say("No result is typed in on this step."), focus: () => this.focus(),
      comment: () => this.openComment(null), zoom: () => this.zoom(), keys: () => this.dialog.showModal(),
      speed: (rate) => this.setSpeed(rate), examined: () => this.askWho(), person: (code) => this.setState("person", code),
    };
    this.deeds[deed](argument);
  }

  select(key) {
    if (key === this.key || !this.rows.some((row) => row.key === key)) return;
    this.key = key;
    this.remember();
    this.render();
    this.sheet.reveal(key);
  }

  seek(time, key) {
    if (key) this.select(key);
    this.player.toTime(time);
  }

  /** Take a step in hand and go to its seconds, where they are known. */
  visit(key) {
    this.select(key);
    this.goToStart(true);
  }

  /** The film is ready: go to where it was left, else to the step in hand. */
  goBack() {
    if (Number.isFinite(this.kept.time)) this.player.toTime(this.kept.time);
    else if (this.row) this.goToStart(true);
    this.scheduleRender();
  }

  moveRow(count) {
    const at = this.rows.findIndex((row) => row.key === this.key) + count;
    if (this.rows[at]) this.visit(this.rows[at].key);
  }

  goToStart(quiet = false) {
    const seconds = this.mine.mark ?? this.mine.otherMarks[0];
    if (seconds) this.player.toTime(seconds.onset_s);
    else if (!quiet) this.say("This step is not marked yet. Find where it starts and press [.");
  }

  get mine() {
    return ofRow(this.state, this.row);
  }

  setEdge(edge) {
    if (!this.player.clock.count) {
      this.say("The film is not ready yet. Try again in a moment.");
      return;
    }
    const { op, refusal } = edgeOperation(edge, this.player.time, this.mine.mark, this.row, newName);
    if (refusal) this.say(refusal, true);
    else this.push(op);
  }

  clearMark() {
    const { mark } = this.mine;
    if (mark) this.push({ op: "remove_mark", mark_id: mark.id });
  }

  grade(digit) {
    const level = this.data.scale.levels[digit - 1];
    if (!level) this.say(`This scale has ${this.data.scale.levels.length} levels.`);
    else this.push({ op: "grade", ...this.place, level: level.key, confidence: this.mine.grade?.confidence ?? null });
  }

  sure(confidence) {
    const grade = this.mine.grade;
    if (!grade) this.say("Give the grade first, then say how sure you are.");
    else this.push({ op: "grade", ...this.place, level: grade.level, confidence });
  }

  openComment(answered) {
    this.player.video.pause();
    const about = answered ? `answering ${answered.person}` : titleOf(this.row);
    const time = answered ? answered.onset_s : this.player.time;
    this.draft = answered ? { reply_to: answered.id } : { ...this.place, onset_s: time, offset_s: time };
    this.compose.open(`Comment at ${clockText(time)}, ${about}`);
  }

  keepComment(text) {
    this.push({ op: "comment", comment_id: newName(), ...this.draft, text });
  }

  push(operation) {
    this.queue.push(operation);
    this.fault = null;
    this.message = null;
    this.render();
  }

  askWho() {
    if (this.parts.examined.hidden) this.say("Only one person was seen in this film.");
    else this.who.open();
  }

  zoom() {
    this.closeUp = !this.closeUp;
    this.render();
  }

  setSpeed(rate) {
    this.player.video.playbackRate = rate;
  }

  uncover() {
    this.uncovered = true;
    this.remember();
    this.render();
  }

  focus() {
    this.root.focus({ preventScroll: true });
  }

  // ---------------------------------------------------------------- showing

  scheduleRender() {
    if (this.gone || this.scheduled) return;
    this.scheduled = requestAnimationFrame(() => {
      this.scheduled = null;
      this.render();
    });
  }

  render() {
    if (this.gone || !this.queue) return;
    this.state = overlay(this.data, this.queue.ops);
    const { parts, data } = this;
    setText(parts.title, data.recording.name);
    const flipped = data.recording.mirrored ? ", filmed mirrored, shown unmirrored" : "";
    setText(parts.about, `${data.title ?? ""}${data.title ? ", " : ""}attempt ${data.recording.attempt}${flipped}`);
    parts.video.classList.toggle("flipped", data.recording.mirrored);
    this.showPeople(data);
    this.root.style.setProperty("--aspect", data.recording.width_px / data.recording.height_px || 16 / 9);
    setText(parts.notice, data.notice);
    this.showAnalysis(data.recording);
    this.who.show(data.recording, data.me);
    const comments = byTime(this.state.comments).map((comment) => this.veil(comment));
    this.sheet.show({
      rows: this.rows, comments, factsOf: (row) => this.facts(row),
      coveredAny: this.rows.some((row) => this.covered(row)),
    });
    if (this.row) this.hand.show(this.row, this.mine.mark, this.data.recording.film);
    if (this.row) this.entry.show(this.row, this.mine.entry, this.data);
    this.showTimeline(comments);
    this.showStatus();
  }

  showPeople({ me, people = [me] }) {
    const signature = JSON.stringify([me.code, people]);
    if (signature === this.peopleShown) return;
    this.peopleShown = signature;
    this.parts.person.replaceChildren(...people.map((person) =>
      h("option", { value: person.code, text: `${person.code}, ${person.role}`, selected: person.code === me.code })));
  }

  facts(row) {
    const own = ofRow(this.state, row);
    return {
      ...own, comments: own.comments.map((comment) => this.veil(comment)), inHand: row.key === this.key,
      covered: this.covered(row), levels: this.data.scale.levels, recordingId: this.data.recording.id,
    };
  }

  /** Blind first: a step stays covered until its own grade is set. */
  covered(row) {
    return !this.uncovered && !ofRow(this.state, row).grade;
  }

  veil(comment) {
    const row = this.rows.find((one) => one.step === comment.step && (one.side ?? null) === (comment.side ?? null));
    return row && !comment.mine && this.covered(row) ? { ...comment, covered: true } : comment;
  }

  showTimeline(comments) {
    const { row, data } = this;
    const curves = row ? data.curves.filter((curve) => row.measures.includes(curve.measure)) : [];
    const state = encodeURIComponent(`${data.recording.analysis?.state}-${data.recording.analysis?.done}`);
    const mine = row ? this.mine : { mark: null, otherMarks: [] };
    this.timeline.show({
      sections: data.sections, rows: this.rows, marks: this.state.marks, comments, inHand: this.key, inHandRow: row,
      ofHand: mine, curves: curves.map((curve) => ({ ...curve, url: `${curve.url}?state=${state}` })), covered: row ? row.measures.length > 0 && this.covered(row) : false, uncover: () => this.uncover(),
      duration: data.recording.duration_s, view: this.view(mine),
    });
    setText(this.parts.zoom.firstChild, this.closeUp ? "Whole film " : "Closer ");
  }

  view(mine) {
    const end = Math.max(this.data.recording.duration_s, this.player.clock.last, 0.1);
    if (!this.closeUp) return [0, end];
    const seconds = mine.mark ?? mine.otherMarks[0] ?? { onset_s: this.player.time, offset_s: this.player.time };
    const span = Math.max(4, (seconds.offset_s - seconds.onset_s) * 1.5);
    const middle = (seconds.onset_s + seconds.offset_s) / 2;
    const from = Math.max(0, Math.min(end - span, middle - span / 2));
    return [from, Math.min(end, from + span)];
  }

  moved(frame, time) {
    this.timeline.move(time);
    const { parts } = this;
    setText(parts.clock, clockText(time));
    setText(parts.frame, `frame ${frame + 1} of ${this.player.clock.count}`);
  }

  showPlaying() {
    setText(this.parts.play.firstChild, this.player.playing ? "Pause " : "Play ");
    this.parts.play.setAttribute("aria-pressed", String(this.player.playing));
  }

  showAnalysis({ analysis }) {
    const text = !analysis || analysis.state === "done" ? "" : analysisText(analysis);
    setText(this.parts.analysis, text);
    this.parts.analysis.hidden = !text;
  }

  tellFaults({ client, faults }) {
    if (client !== this.queue.client || !faults?.length) return;
    const fresh = faults.filter((fault) => fault.seq === 0 || fault.seq > this.faultSeen);
    if (!fresh.length) return;
    this.faultSeen = Math.max(...fresh.map((fault) => fault.seq), this.faultSeen);
    this.fault = fresh.map((fault) => fault.message).join(" ");
  }

  /** @param {string} message @param {boolean} [serious] */
  say(message, serious = false) {
    this.message = message;
    this.serious = serious;
    this.showStatus();
    clearTimeout(this.forget);
    this.forget = setTimeout(() => {
      this.message = null;
      this.showStatus();
    }, 8000);
  }

  showStatus() {
    if (!this.queue) return;
    const waiting = this.queue.ops.length;
    const kept = waiting ? `Keeping ${waiting} ${waiting === 1 ? "change" : "changes"}` : "All kept";
    setText(this.parts.status, kept);
    this.parts.status.dataset.look = waiting ? "busy" : "good";
    const text = this.message ?? this.fault ?? "";
    setText(this.parts.message, text);
    this.parts.message.hidden = !text;
    this.parts.message.dataset.look = (this.message ? this.serious : this.fault) ? "bad" : "";
  }

  /** Fill the window from where the board begins, so that nothing has to be scrolled. */
  fit() {
    const top = this.root.getBoundingClientRect().top + window.scrollY;
    if (!this.gone) this.root.style.setProperty("--room", `${Math.max(560, Math.floor(window.innerHeight - top - 6))}px`);
  }

  destroy() {
    this.remember();
    this.gone = true;
    this.stop.abort();
    this.release?.abort();
    this.fitter.disconnect();
    clearTimeout(this.forget);
    clearInterval(this.retry);
    this.timeline.destroy();
    this.player.destroy();
  }
}
