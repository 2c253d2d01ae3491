/**
 * The board of the Review page: film, timeline and contact sheet in one component.
 *
 * The page calls the default export again whenever its data or the theme change; the same board answers, so the
 * film is never loaded anew.
 */
import { ConsentDialog } from "./consent.js";
import { ShareDialog } from "./share.js";
import { Traces } from "./curves.js";
import { act, goToStart } from "./deeds.js";
import { followTheme, h, keeping, setText } from "./dom.js";
import { EntryField } from "./entry.js";
import { Boards, postDeeds } from "./exchange.js";
import { Film } from "./film.js";
import { Hand } from "./hand.js";
import { FilmWords } from "./film_words.js";
import { History } from "./history.js";
import { keyDialog, listenToKeys } from "./keys.js";
import { Player } from "./player.js";
import { FirstPass, openOnes } from "./proposals.js";
import { claim, newName, Queue } from "./queue.js";
import { Remarks } from "./remarks.js";
import { Sheet } from "./sheet.js";
import { showAll, showPlaying, showStatus, showTime } from "./showing.js";
import { skeleton } from "./skeleton.js";
import { firstToDo, ofRow, overlay, rowsOf } from "./state.js";
import { letStillsCome } from "./stills.js";
import { Timeline } from "./timeline.js";
import { Who } from "./who.js";

/** The element around another, out of a component's own tree as well. @param {Element} element @returns {Element|null|undefined} */
function surrounding(element) {
  return element.parentElement ?? element.getRootNode().host;
}

class Board {
  /** @param {HTMLElement} root */
  constructor(root) {
    this.root = root;
    this.stop = new AbortController();
    this.parts = skeleton(root, (deed, argument) => this.act(deed, argument));
    this.dialog = root.appendChild(keyDialog());
    this.consent = new ConsentDialog(() => this.queue.flush());
    this.share = new ShareDialog(() => this.queue.flush());
    root.append(this.consent.element, this.share.element);
    this.traces = new Traces(() => this.scheduleRender());
    this.filmWords = new FilmWords(() => this.scheduleRender());
    this.firstPass = new FirstPass(() => this.scheduleRender());
    const seek = (time, key) => this.seek(time, key);
    this.sheet = new Sheet(this.parts.sheet, {
      seek, visit: (key) => this.visit(key), grade: (digit) => this.act("grade", digit),
      confidence: (level) => this.act("confidence", level), ungrade: () => this.act("ungrade"), gradeCriterion: (id, digit) => this.act("gradeCriterion", { id, digit }),
      ungradeCriterion: (id) => this.act("ungrade", id), uncover: () => this.uncover(),
      answer: (comment) => this.remarks.open(comment), removeComment: (comment) => this.push({ op: "remove_comment", comment_id: comment.id }),
      resolve: (comment) => this.remarks.resolve(comment), link: (time) => this.remarks.link(time),
      filter: (name) => this.act("filter", name), propose: (deed) => this.act("propose", deed), reveal: () => this.act("reveal"),
      send: (operation) => this.push(operation).seq, corrected: (state) => this.film.correctedTo(state),
    });
    this.timeline = new Timeline(this.parts.timeline, {
      seek, newName, traces: this.traces, select: (key) => this.select(key), follow: (time) => this.player.toTime(time),
      pause: () => this.player.video.pause(), clock: () => this.player.clock, say: (message) => this.say(message),
      act: (deed, argument) => this.act(deed, argument), push: (operation) => this.push(operation), leave: () => this.focus(),
      looking: (closeUp) => setText(this.parts.zoom.firstChild, closeUp ? "Whole film " : "Closer "),
    });
    this.hand = new Hand(this.parts.hand, (deed, argument) => this.act(deed, argument));
    this.entry = new EntryField(this.parts.entry, (deed, argument) => this.act(deed, argument));
    this.remarks = new Remarks(this);
    this.player = new Player(this.parts.video, {
      moved: (frame, time) => this.moved(frame, time), ready: () => this.goBack(), trouble: (message) => this.say(message, true), state: () => showPlaying(this),
      shown: (frame) => this.film.shown(frame), ended: () => this.film.loop.ended(),
    });
    this.film = new Film(this);
    this.who = new Who(this.parts.who, this.parts.examined, {
      point: (time_s, x, y) => this.push({ op: "point", time_s, x, y }), unpoint: () => this.push({ op: "unpoint" }),
      at: () => this.player.time, seek, left: () => this.focus(),
    });
    this.listen();
  }

  listen() {
    for (const type of ["loadeddata", "error"]) this.parts.video.addEventListener(type, letStillsCome, { signal: this.stop.signal });
    listenToKeys(this.root, (deed, argument) => this.act(deed, argument), this.stop.signal);
    this.root.addEventListener("click", (event) => {
      const onButton = event.detail > 0 && event.target.closest("button");
      if (onButton && this.parts.compose.hidden && !this.dialog.open) this.focus();
    }, { signal: this.stop.signal });
    this.fitter = new ResizeObserver(() => this.fit());
    for (let around = surrounding(this.root); around; around = surrounding(around)) this.fitter.observe(around);
    window.addEventListener("pagehide", () => {
      this.remember();
      this.film.remember();
    }, { signal: this.stop.signal });
    window.addEventListener("resize", () => this.fit(), { signal: this.stop.signal });
  }

  /** Take what the page says. */
  update(component) {
    try {
      this.take(component);
    } catch (error) {
      console.error(error); // thrown on, it would take the whole board, and the film with it, off the page
      this.say("This page could not be brought up to date. Reload it; what was kept stays.", true);
    }
  }

  take({ data, setStateValue = this.setState }) {
    this.setState = setStateValue;
    followTheme(this.root);
    if (this.outdated(data)) return;
    const fresh = !this.data || this.data.recording.id !== data.recording.id || this.data.me.id !== data.me.id;
    this.data = data;
    this.rows = rowsOf(data);
    if (fresh) this.begin(data);
    this.queue.acknowledge(data.client, data.ack);
    this.player.load(data.src, data.times, data.recording.start_s ?? 0);
    this.render();
    this.fit();
  }

  /** Whether a board was put together before the one that is shown: the page gives again what it gave first. @param {object} data */
  outdated(data) {
    return this.data?.recording.id === data.recording.id && this.data.me.id === data.me.id && data.at < this.data.at;
  }

  /** A recording or a person came that was not here before. */
  begin(data) {
    this.release?.abort();
    this.release = new AbortController();
    this.memory = `runthrough.view.${data.recording.id}.${data.me.id}`;
    const kept = this.recall();
    const known = (key) => this.rows.some((row) => row.key === key);
    this.key = [kept.key, this.key].find(known) ?? firstToDo(this.rows, data)?.key;
    /** Id of the criterion of the step in hand that digits grade; null: they grade the step as a whole. @type {string|null} */
    this.criterion = null;
    this.filter = kept.filter ?? "all";
    this.film.begin(data);
    this.faultSeen = 0;
    this.fault = null;
    /** What was wrong with operations that could not be done. @type {{seq: number, message: string}[]} */
    this.faults = [];
    const [recording, person] = [data.recording.id, data.me.code];
    this.queue?.close();
    this.boards?.close();
    this.boards = new Boards((board) => this.update({ data: board }));
    this.queue = new Queue(`${recording}.${data.me.id}`, sessionStorage, {
      post: (message) => postDeeds(recording, person, message),
      ask: (client) => this.boards.ask(recording, person, client),
      told: (answer) => this.tellAnswer(answer),
    });
    this.history = new History(`${data.recording.id}.${data.me.id}`, sessionStorage);
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
      sessionStorage.setItem(this.memory, JSON.stringify({ key: this.key, filter: this.filter }));
    } catch {
      this.forgetful = true;
    }
  }

  get row() {
    return this.rows.find((row) => row.key === this.key);
  }

  get place() {
    return { step: this.row.step, side: this.row.side ?? null };
  }

  /** Do what a key or a button stands for. */
  act(deed, argument) {
    act(this, deed, argument);
  }

  select(key) {
    if (key === this.key || !this.rows.some((row) => row.key === key)) return;
    this.key = key;
    this.criterion = null;
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
    goToStart(this, true);
  }

  /** The film is ready: go to where it was left, else to the step in hand. */
  goBack() {
    if (this.remarks.follow()) this.scheduleRender();
    else if (this.film.place !== null) this.player.toTime(this.film.place);
    else if (this.row) goToStart(this, true);
    this.scheduleRender();
  }

  /** What is proposed and neither marked nor refused by oneself. */
  get proposals() {
    return openOnes(this.firstPass.of(this.data).proposals, this.state);
  }

  get mine() {
    return ofRow(this.state, this.row, this.player.time);
  }

  /**
   * Send an operation on its way.
   * @param {object} operation
   * @param {{held?: string, sent?: (seq: number) => void}} [how] key whose repetitions are undone in one go; `sent` of an undo,
   *   which is not itself noted
   * @returns {{seq: number}} the operation as it went into the queue
   */
  push(operation, { held = null, sent } = {}) {
    const before = this.state;
    const entry = this.queue.push(operation);
    this.fault = null;
    this.message = null;
    this.state = overlay(this.data, this.queue.ops);
    if (sent) sent(entry.seq);
    else this.history.note(entry, before, this.state, held);
    this.render();
    return entry;
  }

  /** Uncover all steps at once; the store remembers it. */
  uncover() {
    this.push({ op: "uncover" });
  }

  focus() {
    this.root.focus({ preventScroll: true });
  }

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
    showAll(this);
  }

  moved(frame, time) {
    this.timeline.move(time);
    this.film.moved(time);
    this.remarks.moved();
    this.sheet.captions.at(time);
    showTime(this, frame, time);
  }

  /** Say what the store said of operations. @param {{client: string|null, faults: {seq: number, message: string}[]}} answer */
  tellAnswer({ faults }) {
    if (this.gone) return;
    this.tellFaults(faults);
    showStatus(this);
  }

  tellFaults(faults) {
    const fresh = faults.filter((fault) => fault.seq === 0 || fault.seq > this.faultSeen);
    if (!fresh.length) return;
    this.faultSeen = Math.max(...fresh.map((fault) => fault.seq), this.faultSeen);
    this.faults.push(...fresh.filter((fault) => fault.seq > 0));
    this.history.forget(fresh.map((fault) => fault.seq));
    this.fault = fresh.map((fault) => fault.message).join(" ");
  }

  /** @param {string} message @param {boolean} [serious] */
  say(message, serious = false) {
    this.message = message;
    this.serious = serious;
    showStatus(this);
    clearTimeout(this.forget);
    this.forget = setTimeout(() => {
      this.message = null;
      showStatus(this);
    }, 8000);
  }

  /** Fill the window from where the board begins, so that nothing has to be scrolled. */
  fit() {
    const top = this.root.getBoundingClientRect().top + window.scrollY;
    if (!this.gone) this.root.style.setProperty("--room", `${Math.max(560, Math.floor(window.innerHeight - top - 6))}px`);
  }

  /** The recording may not be seen any more: take the film and all else off the screen, and say so. @param {string} message */
  close(message) {
    this.destroy();
    this.root.replaceChildren(h("div", { class: "closed", role: "alert", data: { testid: "closed" } },
      h("h1", { text: "This recording can no longer be seen" }), h("p", { text: message }), h("a", { href: "/", target: "_self", text: "To the recordings" })));
  }

  destroy() {
    this.remember();
    this.gone = true;
    this.stop.abort();
    this.release?.abort();
    this.queue?.close();
    this.boards?.close();
    this.fitter.disconnect();
    clearTimeout(this.forget);
    clearInterval(this.retry);
    this.remarks.destroy();
    this.timeline.destroy();
    this.film.destroy();
    this.player.destroy();
  }
}

export default keeping("[data-board]", Board);
