// What the page asks of the program on this machine.

import { stilled } from "./state.js";

const view = crypto.randomUUID();

export class Told extends Error {}
export class Stale extends Error {}

async function ask(path, options = {}) {
  let answer;
  try {
    answer = await fetch(`api/${path}`, options);
  } catch (error) {
    if (error.name === "AbortError") throw new Stale();
    throw new Told("Hingeline does not answer: start it again in the terminal and open the new address; you go on where you were.");
  }
  if (answer.status === 204) throw new Stale();
  if (answer.ok) return answer;
  const text = await answer.text();
  throw new Told(text || `That could not be done (${answer.status}).`);
}

const post = (path, wish, signal) =>
  ask(path, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ view, ...wish }), signal });
const posted = async (path, wish, signal) => (await post(path, wish, signal)).json();

/** A picture with what is said about it: 4 bytes of length, JSON, JPEG. */
async function pictured(answer) {
  const bytes = await answer.arrayBuffer();
  const length = new DataView(bytes).getUint32(0);
  const told = JSON.parse(new TextDecoder().decode(new Uint8Array(bytes, 4, length)));
  const jpeg = new Blob([new Uint8Array(bytes, 4 + length)], { type: "image/jpeg" });
  return { told, jpeg, bitmap: await createImageBitmap(jpeg) };
}

/** The moment of a moving scene or of footage that everything is about; null: the shot's own. */
export const moment = { time: null };

/** A shot as it is looked at now: what moves in a film is no part of it. */
const plainShot = ({ picture, scene, values, own, ring }, time = moment.time) => ({ picture, scene, values: time !== null ? { ...values, time } : values, own, ring });
/** A shot with its key frames. */
const wholeShot = ({ picture, scene, values, own, ring, moves, lasts }) => ({ picture, scene, values, own, ring, moves: moves ?? [], lasts });

export const start = async () => (await ask("start")).json();
export const at = async () => (await ask("at")).json();
export const look = async (shot, wish, signal, time) => pictured(await post("look", { shot: plainShot(shot, time), ...wish }, signal));
export const moments = (shot, length, step) => posted("moments", { shot: wholeShot(shot), seconds: length, step });
export const loupe = async (shot, at, signal) => pictured(await post("loupe", { shot: plainShot(shot), ...at }, signal));
export const plan = async (shot, wish) => pictured(await post("plan", { shot: plainShot(shot), ...wish }));
export const verdict = (shot, judging, signal) => posted("verdict", { shot: plainShot(shot), judging }, signal);
export const stops = (shot, judging, signal) => posted("stops", { shot: plainShot(shot), judging }, signal);
export const lay = (shot, points) => posted("lay", { shot: plainShot(shot), points });
export const outline = (shot, at) => posted("outline", { shot: plainShot(shot), ...at });
export const propose = (shot) => posted("propose", { shot: plainShot(shot) });
export const heed = (shot, { kind, words }) => post("heed", { shot: plainShot(shot), wish: [kind === "soft" ? "point" : kind, words] });
export const solve = (shot, wishes) => posted("solve", { shot: plainShot(shot), ...wishes });
/** What is typed at a ring, as the program reads it: words for the shot, and the number it turns to. */
export const read = (shot, name, text) => posted("read", { shot: plainShot(shot), typed: [name, text] });
export const lens = (values) => posted("lens", { values });
export const hand = async (file, way = {}) => (await ask(`files?${new URLSearchParams({ name: file.name, ...way })}`, { method: "PUT", body: file })).json();
/** One of a run of numbered stills; `laid` opens them once all are there. */
export const still = async (file, run) => ask(`stills?${new URLSearchParams({ name: file.name, run })}`, { method: "PUT", body: file });
export const laid = (run) => posted("run", { run });
/** A shot of footage at the frame that is seen. */
const seenNow = (one) => (one.picture && moment.time !== null ? { ...one, values: { ...one.values, time: moment.time } } : one);
/** Made of all of a shot; the rest of the moment that is looked at. */
/** A shot file and a film are of the shot, not of the moment that is looked at. */
const STILL = new Set(["film", "shot"]);
const WHOLE = new Set(["film", "shot", "card", "board"]);
export const save = (kind, shots, options, judging) => posted("saves", { kind, shots: shots.map((one) => (WHOLE.has(kind) ? wholeShot(kind === "board" || kind === "card" ? seenNow(one) : STILL.has(kind) ? stilled(one) : one) : plainShot(one))), options, judging });
export const saved = async (id) => (await ask(`saves/${id}`)).json();
export const stop = async (id) => ask(`saves/${id}`, { method: "DELETE" });
export const savedAddress = (id) => `api/saves/${id}/file`;
