/** Filming in the page: the device's camera, recorded in slices that go to the upload route as they come. */
import { h, setText } from "./dom.js";
import { addFilm, Refusal, sendSlice } from "./send.js";
import { Line } from "./send_line.js";

const KINDS = ["video/mp4;codecs=avc1", "video/webm;codecs=vp9,opus", "video/webm;codecs=vp8,opus", "video/webm;codecs=vp8", "video/webm"];
const SLICE_MS = 1000;
const LOOK_MS = 1500;
const LOOK_PX = 480;
const MOST_WAITING = 256 << 20;

/** What the browser's faults mean. */
const FAULTS = {
  NotAllowedError: "The browser was not allowed to use the camera. Allow it beside the page's address, then try again.",
  NotFoundError: "No camera was found. Connect one, or film with another device and choose the film here.",
  NotReadableError: "The camera is used by another program. Close that, then try again.",
  OverconstrainedError: "This camera cannot be opened. Choose another one.",
};

export class Camera {
  /**
   * @param {(file: object) => object} wishes what was said of a film, from the form
   * @param {(id: string) => void} added told which recording was added
   */
  constructor(wishes, added) {
    this.wishes = wishes;
    this.added = added;
    this.begin = button("strong", "Film here", "camera-open", () => this.open());
    this.which = h("select", { id: "camera", onchange: () => this.open(this.which.value) });
    this.record = button("strong", "Start recording", "camera-record", () => (this.recorder ? this.stop() : this.start()));
    this.leave = button("plain", "Close camera", "camera-close", () => this.close());
    this.picture = h("video", { class: "viewfinder", muted: true, playsinline: true, "aria-label": "What the camera sees" });
    this.picture.muted = true;
    this.words = h("p", { class: "said", role: "status", data: { testid: "camera-status" } });
    this.view = h("select", { id: "view" }, h("option", { value: "face", text: "Close-up" }), h("option", { value: "body", text: "Whole body", selected: true }));
    this.framing = h("ul", { class: "framing", role: "status", data: { testid: "framing" } });
    this.panel = h("div", { class: "filming", hidden: true }, this.picture, h("div", { class: "filming-side" },
      h("div", { class: "field" }, h("label", { for: "camera", text: "Camera" }), this.which),
      h("div", { class: "field" }, h("label", { for: "view", text: "What is filmed" }), this.view),
      h("div", { class: "deed" }, this.record, this.leave), this.framing));
    this.going = h("div", { class: "going" });
    this.element = h("div", { class: "camera" }, this.panel, this.words, this.going);
  }

  /** @param {string} [id] camera to open; the one at the back if none is named */
  async open(id) {
    this.say("");
    this.release();
    try {
      if (!navigator.mediaDevices) throw new Refusal("This browser offers no camera here. Open the page at http://127.0.0.1 and its port.");
      const size = { width: { ideal: 1920 }, height: { ideal: 1080 }, frameRate: { ideal: 30 } };
      const place = id ? { deviceId: { exact: id } } : { facingMode: "environment" };
      this.stream = await opened({ ...size, ...place });
      this.picture.srcObject = this.stream;
      await this.picture.play();
      await this.listCameras();
      this.panel.hidden = false;
      this.look(this.stream);
    } catch (error) {
      this.say(error instanceof Refusal ? error.message : FAULTS[error.name] ?? `The camera could not be opened (${error.name}).`, "bad");
      if (!id) this.close();
    }
  }

  async listCameras() {
    const all = await navigator.mediaDevices.enumerateDevices();
    const now = this.stream.getVideoTracks()[0].getSettings().deviceId;
    const cameras = all.filter((device) => device.kind === "videoinput");
    this.which.replaceChildren(...cameras.map((device, number) =>
      h("option", { value: device.deviceId, text: device.label || `Camera ${number + 1}`, selected: device.deviceId === now })));
  }

  /** Ask again and again how the picture is framed, as long as this stream is open. */
  async look(stream) {
    while (this.stream === stream) {
      const said = await this.framed().catch(() => null);
      if (said && this.stream === stream) this.showFraming(said);
      await new Promise((go) => setTimeout(go, LOOK_MS));
    }
  }

  showFraming(said) {
    const lines = said.length ? said : ["The framing is good."];
    if (lines.join() === this.shown) return;
    this.shown = lines.join();
    this.framing.replaceChildren(...lines.map((text) => h("li", { class: said.length ? "amiss" : "well", text })));
  }

  async framed() {
    const { videoWidth, videoHeight } = this.picture;
    const scale = Math.min(1, LOOK_PX / Math.max(videoWidth, videoHeight));
    const canvas = h("canvas", { width: Math.round(videoWidth * scale), height: Math.round(videoHeight * scale) });
    canvas.getContext("2d").drawImage(this.picture, 0, 0, canvas.width, canvas.height);
    const body = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.85));
    const answer = await fetch(`/api/framing?view=${this.view.value}`, { method: "POST", body, credentials: "same-origin" });
    const told = await answer.json();
    return told.said ?? [told.message];
  }

  start() {
    const kind = KINDS.find((each) => MediaRecorder.isTypeSupported(each));
    this.recorder = new MediaRecorder(this.stream, { mimeType: kind, videoKeyFrameIntervalDuration: SLICE_MS });
    const ending = this.recorder.mimeType.includes("mp4") ? "mp4" : "webm";
    const stamp = new Date().toISOString().slice(0, 19).replaceAll(":", "-");
    this.take = new Take(`filmed ${stamp}.${ending}`);
    this.going.replaceChildren(this.take.line.element);
    this.take.line.count("Recording");
    this.recorder.addEventListener("dataavailable", ({ data }) => {
      if (data.size && !this.take.push(data)) this.stop();
    });
    this.recorder.addEventListener("stop", () => this.finish());
    this.recorder.start(SLICE_MS);
    this.lock(true);
  }

  stop() {
    if (this.recorder?.state === "recording") this.recorder.stop();
  }

  async finish() {
    const { take } = this;
    this.recorder = null;
    this.lock(false);
    try {
      const id = await take.finish((file) => this.wishes(file));
      take.line.say("Added. Its analysis has begun; you can start marking now.", "good");
      this.added(id);
    } catch (error) {
      take.line.say(error instanceof Refusal ? error.message : "The film could not be sent. Is Runthrough still running?", "bad");
    }
  }

  lock(recording) {
    setText(this.record, recording ? "Stop and add" : "Start recording");
    this.begin.disabled = recording;
    this.which.disabled = recording;
    this.leave.disabled = recording;
  }

  close() {
    this.release();
    this.panel.hidden = true;
  }

  release() {
    for (const track of this.stream?.getTracks() ?? []) track.stop();
    this.stream = null;
    this.picture.srcObject = null;
  }

  say(text, look = "") {
    setText(this.words, text);
    this.words.className = `said ${look}`;
  }

  destroy() {
    this.stop();
    this.release();
  }
}

/** One film while it is being recorded: slices wait here until the server has them, and no longer. */
class Take {
  constructor(name) {
    this.name = name;
    this.uid = Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join("");
    this.line = new Line(name);
    this.waiting = 0;
    this.made = 0;
    this.offset = 0;
    this.sent = Promise.resolve();
    this.begun = performance.now();
  }

  /** @param {Blob} slice @returns {boolean} whether there is room for more */
  push(slice) {
    this.waiting += slice.size;
    this.made += slice.size;
    this.sent = this.sent.then(() => this.send(slice)).catch((fault) => {
      this.fault = fault;
    });
    const seconds = Math.round((performance.now() - this.begun) / 1000);
    this.line.count(`Recording, ${seconds} s, ${(this.made / 1e6).toFixed(1)} MB`);
    return !this.fault && this.waiting < MOST_WAITING;
  }

  async send(slice) {
    if (this.fault) throw this.fault;
    this.offset = await sendSlice(slice, this.uid, this.offset, new AbortController().signal);
    this.waiting -= slice.size;
  }

  /** Wait for the last slice and have the film added; what arrived before a fault is added too. */
  async finish(wishes) {
    await this.sent;
    if (!this.offset) throw this.fault ?? new Refusal("The camera gave no picture, so there is nothing to add.");
    const said = { ...wishes({ name: this.name, size: this.offset }), name: null, mirrored: false, slow_motion: 1 };
    return addFilm(this.uid, said, (stage, share) => this.line.tell(stage, share));
  }
}

/** Open a camera with sound; without sound if there is no microphone. */
async function opened(video) {
  try {
    return await navigator.mediaDevices.getUserMedia({ video, audio: true });
  } catch (error) {
    if (error.name !== "NotFoundError" && error.name !== "NotReadableError") throw error;
    return navigator.mediaDevices.getUserMedia({ video, audio: false });
  }
}

function button(look, text, testid, onclick) {
  return h("button", { type: "button", class: look, text, onclick, data: { testid } });
}
