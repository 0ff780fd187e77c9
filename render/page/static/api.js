// What the page asks of the program on this machine.

export const view = crypto.randomUUID();

/** A sentence from the program. */
export class Told extends Error {}
/** Something newer was asked for. */
export class Stale extends Error {}

async function ask(path, options = {}) {
  let answer;
  try {
    answer = await fetch(`api/${path}`, options);
  } catch (error) {
    if (error.name === "AbortError") throw new Stale();
    throw new Told("Hingeline does not answer: start it again in the terminal, then reload the page.");
  }
  if (answer.status === 204) throw new Stale();
  if (answer.ok) return answer;
  const text = await answer.text();
  throw new Told(text || `That could not be done (${answer.status}).`);
}

const post = (path, wish, signal) =>
  ask(path, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ view, ...wish }), signal });

/** A picture with what is said about it: 4 bytes of length, JSON, JPEG. */
async function pictured(answer) {
  const bytes = await answer.arrayBuffer();
  const length = new DataView(bytes).getUint32(0);
  const told = JSON.parse(new TextDecoder().decode(new Uint8Array(bytes, 4, length)));
  const jpeg = new Blob([new Uint8Array(bytes, 4 + length)], { type: "image/jpeg" });
  return { told, jpeg, bitmap: await createImageBitmap(jpeg) };
}

const plainShot = ({ picture, scene, values }) => ({ picture, scene, values });

export const start = async () => (await ask("start")).json();
export const look = async (shot, wish, signal) => pictured(await post("look", { shot: plainShot(shot), ...wish }, signal));
export const loupe = async (shot, at, signal) => pictured(await post("loupe", { shot: plainShot(shot), ...at }, signal));
export const verdict = async (shot, signal) => (await post("verdict", { shot: plainShot(shot) }, signal)).json();
export const lay = async (shot, points) => (await post("lay", { shot: plainShot(shot), points })).json();
export const solve = async (shot, wishes) => (await post("solve", { shot: plainShot(shot), ...wishes })).json();
export const hand = async (file, beside) => (await ask(`files?name=${encodeURIComponent(file.name)}${beside ? "&beside" : ""}`, { method: "PUT", body: file })).json();
export const save = async (kind, shots, options) => (await post("saves", { kind, shots: shots.map(plainShot), options })).json();
export const saved = async (id) => (await ask(`saves/${id}`)).json();
export const stop = async (id) => ask(`saves/${id}`, { method: "DELETE" });
export const savedAddress = (id) => `api/saves/${id}/file`;
