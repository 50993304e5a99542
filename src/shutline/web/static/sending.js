// Files sent in pieces that the workbench keeps as they come, so that a network that fails costs one piece at most.

import { Refused, ask } from "/static/workbench.js";
import { Sha256 } from "/static/sha256.js";

const WAIT_S = [1, 2, 4, 8, 15, 30];

/** Ended on purpose, or because nothing can be gained by trying again; `trouble` is what was answered. */
export class Ended extends Error {
  constructor(trouble = null) {
    super("sending ended");
    this.trouble = trouble;
  }
}

/**
 * Send the files of a delivery that are not here yet, one after the other.
 *
 * `files` maps the place of a file to the file; `heard` is told in words when the network fails and when it is back.
 */
export async function send(delivery, files, { pieceBytes, signal, heard }) {
  for (const [place, file] of files) await sendFile(delivery, place, file, { pieceBytes, signal, heard, again: true });
}

async function sendFile(delivery, place, file, how) {
  const base = `/add/deliveries/${delivery}`;
  const sha = new Sha256();
  let stands = await steady(() => ask(`${base}.json`, { signal: how.signal }), how);
  let received = stands.files[place].received;
  if (stands.files[place].problem || stands.files[place].sha256) return;
  for (let at = 0; at < file.size; ) {
    const bytes = await read(file, at, Math.min(file.size, at + how.pieceBytes));
    sha.update(bytes);
    const end = at + bytes.length;
    while (received < end) {
      const from = Math.max(at, received);
      const answer = await steady(async () => {
        try {
          const body = new Blob([bytes.subarray(from - at)]);
          return await ask(`${base}/files/${place}?at=${from}`, { method: "PUT", body, signal: how.signal });
        } catch (error) {
          if (error instanceof Refused && error.problem?.slug !== "upload-gap") throw error;
          if (how.signal.aborted) throw error;
          // The network failed, or more or less came than was thought: ask how much did.
          stands = await ask(`${base}.json`, { signal: how.signal });
          const here = stands.files[place];
          if (here.received === from && !here.problem) throw error instanceof Refused ? new TypeError("nothing came") : error;
          return { received: here.received, left: Boolean(here.problem) };
        }
      }, how);
      if (answer.left) return;
      received = answer.received;
      // What was there is gone, as after a file that differed: begin again.
      if (received < at) return sendFile(delivery, place, file, how);
    }
    at = end;
  }
  const sha256 = sha.digest();
  try {
    await steady(() => ask(`${base}/files/${place}/whole`, { method: "POST", body: { sha256 }, signal: how.signal }), how);
  } catch (error) {
    if (how.again && error instanceof Ended && error.trouble?.problem?.slug === "upload-differs") {
      await sendFile(delivery, place, file, { ...how, again: false });
    } else {
      throw error;
    }
  }
}

async function read(file, from, to) {
  try {
    return new Uint8Array(await file.slice(from, to).arrayBuffer());
  } catch (error) {
    throw new Ended(error);
  }
}

/** Try until the workbench answers; what it refuses is not tried again. */
async function steady(step, { signal, heard }) {
  for (let tries = 0; ; tries += 1) {
    if (signal.aborted) throw new Ended();
    try {
      const answer = await step();
      if (tries) heard("");
      return answer;
    } catch (error) {
      if (signal.aborted) throw new Ended();
      if (error instanceof Refused) throw new Ended(error);
      const wait = WAIT_S[Math.min(tries, WAIT_S.length - 1)];
      heard(`The workbench does not answer. Trying again in ${wait} ${wait === 1 ? "second" : "seconds"}; nothing that was sent is lost.`);
      await pause(wait * 1000, signal);
    }
  }
}

function pause(ms, signal) {
  return new Promise((resolve) => {
    const done = () => { clearTimeout(timer); removeEventListener("online", done); signal.removeEventListener("abort", done); resolve(); };
    const timer = setTimeout(done, ms);
    addEventListener("online", done);
    signal.addEventListener("abort", done);
  });
}
