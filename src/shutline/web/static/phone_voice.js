// A short note spoken into the phone: what was said so far is kept every second.

import { find, hold, keep, newToken } from "/static/phone_queue.js";

const LONGEST_S = 180;
const FORMS = ["audio/webm;codecs=opus", "audio/mp4", "audio/ogg;codecs=opus"];

/** Tell why this page cannot record; nothing where it can. */
export function whyNot() {
  if (!isSecureContext) return "address";
  return navigator.mediaDevices?.getUserMedia && window.MediaRecorder ? "" : "browser";
}

/** Begin to record; gives how to end it. `onSecond` is told the seconds, `onEnd` the thing that was kept, or null. */
export async function speak(thing, { onSecond, onEnd }) {
  const stream = await navigator.mediaDevices.getUserMedia({ audio: true });
  const type = FORMS.find((form) => MediaRecorder.isTypeSupported(form)) ?? "";
  const recorder = new MediaRecorder(stream, type ? { mimeType: type } : {});
  const pieces = [];
  let note = { ...thing, type: recorder.mimeType || type };
  const letGo = hold(note.token);
  let throwAway = false;
  let turn = Promise.resolve();

  async function keepSoFar(speaking) {
    const data = await new Blob(pieces).arrayBuffer();
    if (!data.byteLength) return;
    // Where another page has sent what there was all the same, the whole goes as a note of its own.
    if (note.begun && !(await find(note.token))?.speaking) note = { ...note, token: newToken() };
    note = { ...note, begun: true, speaking, name: named(note) };
    await keep(note, data);
  }

  recorder.ondataavailable = (event) => {
    if (event.data.size) pieces.push(event.data);
    if (recorder.state === "recording") turn = turn.then(() => keepSoFar(true)).catch(() => {});
  };
  const started = performance.now();
  const clock = setInterval(() => {
    const seconds = (performance.now() - started) / 1000;
    onSecond(seconds);
    if (seconds > LONGEST_S) stop();
  }, 250);
  recorder.onstop = async () => {
    clearInterval(clock);
    for (const track of stream.getTracks()) track.stop();
    await turn;
    try {
      if (!throwAway) await keepSoFar(false);
      onEnd(throwAway || !note.begun ? null : note, throwAway ? note.token : null, null);
    } catch (error) {
      onEnd(null, null, error);
    } finally {
      letGo();
    }
  };
  function stop() { if (recorder.state !== "inactive") recorder.stop(); }
  recorder.start(1000);
  return { stop, throwAway: () => { throwAway = true; stop(); } };
}

function named(note) {
  const ending = note.type.includes("mp4") ? "m4a" : note.type.includes("ogg") ? "ogg" : "weba";
  return `${note.placeName}, spoken.${ending}`;
}
