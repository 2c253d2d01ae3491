/** Comments in the making and on the picture, links to a second, and what others say meanwhile. */
import { Changes } from "./changes.js";
import { Compose } from "./compose.js";
import { clockText } from "./format.js";
import { copied, linkTo, timeAtOpening, timeOfHash } from "./link.js";
import { newName } from "./queue.js";
import { titleOf } from "./row.js";
import { rowAt } from "./sheet_deeds.js";
import { isOn, Shapes, stored } from "./shapes.js";
import { showStatus } from "./showing.js";

export class Remarks {
  /** @param {object} board */
  constructor(board) {
    this.board = board;
    this.stop = new AbortController();
    this.shapes = new Shapes(board.parts.film, () => board.film.stage, {
      changed: (shape) => this.compose.showShape(shape, !this.shapes.pad.hidden), done: () => this.compose.box.focus(),
    });
    this.compose = new Compose(board.parts.compose, {
      keep: (text) => this.keep(text), left: () => this.left(), draw: (what) => this.draw(what),
      keepPhrase: (text) => board.push({ op: "keep_phrase", phrase_id: newName(), text }),
      dropPhrase: (id) => board.push({ op: "drop_phrase", phrase_id: id }),
    });
    this.changes = new Changes({
      address: () => `/api/version/${encodeURIComponent(board.data.recording.id)}?as=${encodeURIComponent(board.data.me.code)}`,
      known: () => board.data.version, idle: () => !board.queue.ops.length, changed: () => board.queue.flush(), away: (away) => this.away(away),
      closed: (message) => board.close(message),
    });
    addEventListener("hashchange", () => this.follow(), { signal: this.stop.signal });
  }

  /** Go to the second that the address names, and take the step in hand that is marked there. @returns {boolean} whether it named one */
  follow() {
    const time = timeOfHash(location.hash) ?? timeAtOpening(this.board.data.recording.id);
    if (time === null) return false;
    this.board.player.toTime(time);
    const row = rowAt(this.board, time);
    if (row) this.board.select(row.key);
    return true;
  }

  /** Runthrough does not answer, or does again: then what waited is sent. @param {boolean} away */
  away(away) {
    const { board } = this;
    board.away = away;
    showStatus(board);
    if (away) board.say("Runthrough does not answer. What you do is kept in this window and sent when it is back.", true);
    if (!away && board.queue.ops.length) board.queue.flush();
  }

  /** Open the line in which a comment is written. @param {object|null} answered the comment it answers */
  open(answered) {
    const { board } = this;
    board.player.video.pause();
    this.draft = answered ? { reply_to: answered.id } : { ...board.place };
    const about = answered ? `answering ${answered.person}` : titleOf(board.row);
    const time = answered ? answered.onset_s : board.player.time;
    this.compose.open({ time, about, answer: Boolean(answered), span: answered ? null : board.film.span });
  }

  keep(text) {
    const { board } = this;
    const when = this.draft.reply_to ? {} : this.compose.seconds;
    const drawn = this.shapes.shape && !this.draft.reply_to ? { shape: stored(this.shapes.shape) } : {};
    board.push({ op: "comment", comment_id: newName(), ...this.draft, ...when, ...drawn, text });
    this.shapes.clear();
  }

  /** The line is closed: its text stays in it, what was drawn belonged to this frame. */
  left() {
    this.shapes.clear();
    this.show(this.board.state.comments);
    this.board.focus();
  }

  /** @param {"point"|"circle"|"arrow"|"done"|null} what to draw; null: nothing */
  draw(what) {
    if (what === "done") this.shapes.end();
    else if (what) this.shapes.begin(what);
    else this.shapes.clear();
    if (!what || what === "done") this.compose.box.focus();
  }

  /** Say that a comment is settled, or open again. @param {object} comment */
  resolve(comment) {
    this.board.push({ op: "resolve_comment", comment_id: comment.id, resolved: !comment.resolved });
  }

  /** Copy the address of a second. @param {number} time seconds */
  async link(time) {
    const address = linkTo(location.href, this.board.data.recording.id, time);
    const done = await copied(address);
    this.board.say(done ? `The link to ${clockText(time)} is copied.` : `Copy this link: ${address}`);
  }

  /** Show the drawings of the comments that speak of the frame in hand. @param {object[]} comments as seen */
  show(comments) {
    const { player } = this.board;
    this.comments = comments;
    this.compose.phrases.show(this.board.state.phrases);
    this.shapes.show(comments.filter((one) => one.shape && !one.covered && isOn(one, player.time, player.playing)));
  }

  /** The film is at another time. */
  moved() {
    if (!this.comments) return;
    this.show(this.comments);
    const { board } = this;
    if (!board.row || board.mine.again < 2 || board.mine.mark.id === this.marked) return;
    this.marked = board.mine.mark.id;
    board.scheduleRender();
  }

  destroy() {
    this.stop.abort();
    this.changes.stop();
  }
}
