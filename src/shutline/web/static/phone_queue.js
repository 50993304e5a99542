// What was made at the car: first kept on this phone, then sent, once, in the order it was made.

import { Refused } from "/static/workbench.js";

const WAIT_S = [3, 5, 10, 20, 40, 60];
let proof = document.querySelector('meta[name="proof"]')?.content ?? "";
let opened = null;
let busy = false;
let again = 0;
let tries = 0;
let told = () => {};

/** Say what is to be called after each change: with what waits, and how the sending stands. */
export function whenChanged(callback) { told = callback; }

/** Give a token that no other thing has; works on any address, secure or not. */
export function newToken() {
  return Array.from(crypto.getRandomValues(new Uint8Array(16)), (one) => one.toString(16).padStart(2, "0")).join("");
}

/** Keep a thing on this phone, with its bytes where it has any; it is safe when this returns. */
export async function keep(thing, data = null) {
  await inBase("readwrite", (transaction) => {
    if (data) transaction.objectStore("bytes").put(data, thing.token);
    return transaction.objectStore("waiting").put(thing);
  });
  navigator.storage?.persist?.();
  await change("kept");
}

/** Keep a thing, and begin to send. */
export async function keepAndSend(thing, data = null) {
  await keep(thing, data);
  send();
}

/** Give one thing that waits, undefined when it is gone. */
export async function find(token) {
  return inBase("readonly", (transaction) => transaction.objectStore("waiting").get(token));
}

/** Give the bytes of a thing that waits. */
export async function bytesOf(token) {
  return inBase("readonly", (transaction) => transaction.objectStore("bytes").get(token));
}

/** Give what waits, the oldest first. */
export async function waiting() {
  const all = await inBase("readonly", (transaction) => transaction.objectStore("waiting").getAll());
  return all.sort((one, other) => one.order - other.order);
}

/** Take a thing off this phone. */
export async function drop(token) {
  await remove(token);
  await change("dropped");
}

/** Send a thing anew that was refused. */
export async function retry(token) {
  const thing = await find(token);
  if (thing) await keepAndSend({ ...thing, problem: null });
}

/** Hold a note that is being spoken, so that no other page takes it up; gives how to let it go. */
export function hold(token) {
  let letGo = () => {};
  navigator.locks?.request(`note ${token}`, () => new Promise((done) => { letGo = done; }));
  return () => letGo();
}

/** A note that was being spoken when its page went away: what there is of it is sent. */
export async function takeUp() {
  const held = new Set(((await navigator.locks?.query())?.held ?? []).map((lock) => lock.name));
  for (const thing of await waiting()) {
    if (thing.speaking && !held.has(`note ${thing.token}`)) await keep({ ...thing, speaking: false });
  }
}

/** Send all that waits, as far as the signal allows. */
export async function send() {
  if (busy) return;
  busy = true;
  clearTimeout(again);
  let state = "sent";
  try {
    let next;
    while ((next = (await waiting()).find((thing) => !thing.problem && !thing.speaking))) {
      await change("sending", next);
      try {
        const answer = await sendOne(next);
        await remove(next.token);
        tries = 0;
        await change("arrived", next, answer);
      } catch (error) {
        const final = error instanceof Refused && error.problem && error.code < 500 && error.code !== 401;
        if (!final) {
          state = error instanceof Refused && error.code === 401 ? "door" : "no signal";
          break;
        }
        await keep({ ...next, problem: error.problem });
      }
    }
  } finally {
    busy = false;
  }
  const left = (await waiting()).some((thing) => !thing.problem && !thing.speaking);
  if (left) again = setTimeout(send, 1000 * WAIT_S[Math.min(tries++, WAIT_S.length - 1)]);
  await change(state);
}

async function sendOne(thing) {
  try {
    return await post(thing);
  } catch (error) {
    const stale = error instanceof Refused && (error.problem?.slug === "web-not-proven" || error.code === 401);
    if (!stale || !(await freshProof(thing.car))) throw error;
    return post(thing);
  }
}

async function post(thing) {
  const page = `/cars/${encodeURIComponent(thing.car)}/at-the-car`;
  const headers = { accept: "application/json", "shutline-proof": proof };
  let address = `${page}/${{ typed: "words", reading: "reading" }[thing.kind] ?? "shows"}`;
  if (thing.kind === "work") address = `/cars/${encodeURIComponent(thing.car)}/preparation/cards/${thing.to}`;
  let body;
  if (thing.kind === "picture" || thing.kind === "spoken") {
    const { token, kind, place, at, name } = thing;
    address = `${page}/file?${new URLSearchParams({ token, kind, place, at, name })}`;
    headers["content-type"] = "application/octet-stream";
    body = await bytesOf(thing.token);
  } else if (thing.kind === "work") {
    headers["content-type"] = "application/json";
    body = JSON.stringify({ token: thing.token, ...thing.sent });
  } else if (thing.kind === "reading") {
    headers["content-type"] = "application/json";
    body = JSON.stringify({ token: thing.token, reading: thing.reading });
  } else {
    headers["content-type"] = "application/json";
    const { token, place, words, at, says, note, finding } = thing;
    body = JSON.stringify(thing.kind === "typed" ? { token, place, words, at, says } : { token, note, says, finding });
  }
  const response = await fetch(address, { method: "POST", headers, body, credentials: "same-origin" });
  const answer = await response.json().catch(() => null);
  if (!response.ok) throw new Refused(response.status, answer);
  if (answer === null) throw new TypeError("no answer of the workbench");
  return answer;
}

/** The workbench was started anew, or this page is an old one: its secret is asked for again. */
async function freshProof(car) {
  const response = await fetch(`/cars/${encodeURIComponent(car)}/at-the-car`, {
    headers: { accept: "text/html" }, credentials: "same-origin", cache: "no-store",
  });
  if (!response.ok) return false;
  const page = new DOMParser().parseFromString(await response.text(), "text/html");
  const found = page.querySelector('meta[name="proof"]')?.content;
  if (!found || found === proof) return false;
  proof = found;
  return true;
}

async function change(state, thing = null, answer = null) {
  told({ state, thing, answer, waiting: await waiting() });
}

function base() {
  opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open("shutline-at-the-car", 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("waiting", { keyPath: "token" });
      asked.result.createObjectStore("bytes");
    };
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => { opened = null; reject(asked.error); };
  });
  return opened;
}

async function inBase(mode, work) {
  const transaction = (await base()).transaction(["waiting", "bytes"], mode);
  return new Promise((resolve, reject) => {
    const asked = work(transaction);
    transaction.oncomplete = () => resolve(asked.result);
    transaction.onabort = () => reject(transaction.error);
  });
}

function remove(token) {
  return inBase("readwrite", (transaction) => {
    transaction.objectStore("bytes").delete(token);
    return transaction.objectStore("waiting").delete(token);
  });
}

addEventListener("online", () => { tries = 0; send(); });
document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") { tries = 0; send(); } });
