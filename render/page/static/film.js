// A film by hand: key frames on a line of time, scrubbed and played from small pictures.

import * as api from "./api.js";
import { button, make, swap, textField } from "./dialog.js";
import { latest } from "./flow.js";
import * as shot from "./state.js";
import { short, spotWords } from "./words.js";

const { state } = shot;
/** Between moments that are played, s: every one of a scene is traced anew. Footage goes by its own frames. */
const STEP_S = { picture: 1 / 12, scene: 1 / 6 };
const MOST_MOMENTS = 600;
const USUAL_S = 4;
const MOST_S = 3600;
const KEPT = 800;
const PIXELS = 300_000;
const REST = 260;

const seconds = (value) => `${short(value)} s`;
const secondsOf = (words) => Number.parseFloat(words);
const same = (a, b) => Math.abs(a - b) < 1e-3;

/**
 * @param {import("./view.js").View} view
 * @param {object} page `tab`, `told`
 * @param {object} flow
 * @param {object} hears moved(values) after every picture, rests() when the lens stays where it was put,
 *   take() for the finished film
 */
export function buildFilm(view, page, flow, hears) {
  const home = document.getElementById("film");
  const film = { at: 0, step: STEP_S.picture, stride: 1, moments: [], about: "", playing: 0, runs: 0, turn: 0, pictures: new Map(), loose: false, refused: false, timer: 0, marks: "" };

  const play = button("Play", () => (film.playing ? rest() : run()), "strong");
  const line = Object.assign(document.createElement("input"), { type: "range", min: 0, id: "film-line", className: "line" });
  line.ariaLabel = "Moment of the film";
  const marks = make("ol", "", "marks");
  const track = make("div", "", "track");
  track.append(marks, line);
  const now = make("output", "", "now");
  const set = button("Set key frame", setHere);
  const drop = button("Remove key frame", () => keep(without(film.at)));
  const moment = field("At", "film-at", (time) => {
    go(Math.min(time, length()));
    return time > length() ? `The film ends at ${seconds(length())}` : "";
  });
  const long = field("Length", "film-length", (time) => {
    if (!time) return "Write how long the film is, such as 4 s";
    const least = last(), most = reel()?.seconds ?? Infinity;
    keep(moves(), Math.max(time, least));
    if (time < least) return `The last key frame stands at ${seconds(least)}: move or remove it first`;
    return time > most ? `The footage ends at ${seconds(most)}` : "";
  });
  const says = make("p", "", "says");
  says.role = "status";
  const row = make("div", "", "row");
  row.append(set, drop, moment.row, long.row, button("Save the film", () => { rest(); hears.take(); }, "strong"));
  const top = make("div", "", "row");
  top.append(play, track, now);
  home.append(top, row, says);

  function field(label, id, given) {
    const input = textField({ id, maxLength: 12 });
    input.addEventListener("change", async () => {
      let wrong;
      try {
        const { value } = await api.read({ ...state.shot, values: {} }, "time", input.value);
        wrong = value > MOST_S ? `“${input.value}”: a film here lasts up to ${seconds(MOST_S)}` : given(value);
      } catch (error) {
        wrong = error.message;
      }
      tell(wrong, Boolean(wrong));
      follow();
      input.value = input.dataset.now;
    });
    const box = make("div", "", "time");
    box.append(Object.assign(make("label", label), { htmlFor: id }), input);
    return { row: box, show(words) { input.dataset.now = words; if (document.activeElement !== input) input.value = words; } };
  }

  /* ---- key frames ---- */

  const moves = () => state.shot.moves ?? [];
  const last = () => Math.max(0, ...moves().map((one) => secondsOf(one.at)));
  /** What footage says of itself: seconds, frames, rate; null of a still or a scene. */
  const reel = () => (state.shot.picture && page.told?.reel) || null;
  const said = () => (state.shot.lasts ? secondsOf(state.shot.lasts) : null);
  const length = () => (reel() ? Math.min(said() ?? Infinity, reel().seconds) : Math.max(said() ?? (moves().length > 1 ? 0 : USUAL_S), last(), 0.1));
  const at = (time = film.at) => moves().find((one) => same(secondsOf(one.at), time));
  const isOpen = () => Boolean(state.seen.film) && page.tab !== "place" && Boolean(page.told);
  const stirs = () => Boolean(state.shot.scene || reel()) || moves().length > 1;

  const without = (time) => moves().filter((one) => !same(secondsOf(one.at), time));

  /** The length is told where more than the last key frame tells it: a hold at the end. */
  function keep(list, lasts = reel() || !list.length ? said() : length()) {
    const sorted = [...list].sort((a, b) => secondsOf(a.at) - secondsOf(b.at)), end = sorted.length && secondsOf(sorted.at(-1).at);
    shot.replace({ ...state.shot, moves: sorted, lasts: lasts > end + 1e-3 ? seconds(lasts) : undefined });
  }

  function setHere() {
    rest();
    const { told } = page, { values, scene } = state.shot;
    const given = { tilt: values.tilt ?? "0", swing: values.swing ?? "0", f: values.f ?? short(told.f), focus: values.focus ?? focusWords(told) };
    if (scene && told.height && (values.height !== undefined || moves().some((one) => one.given.height))) given.height = values.height ?? `${short(told.height)} m`;
    keep([...without(film.at), { at: seconds(film.at), given }]);
  }

  function focusWords({ focus, focus_m: away, frame: [left, top, wide, high] }) {
    if (focus) return spotWords(left + focus[0] * wide, top + focus[1] * high);
    return away > 1e5 ? "infinity" : `${short(away)} m`;
  }

  /** A key frame goes to another moment, unless one is there. */
  function carry(one, to) {
    const time = Math.round(100 * Math.min(Math.max(0, to), reel() ? length() : MOST_S)) / 100;
    if (at(time)) return follow();
    film.at = time;
    keep([...without(secondsOf(one.at)), { ...one, at: seconds(time) }]);
  }

  function mark(one) {
    const time = secondsOf(one.at), item = make("li");
    const press = button("", () => { go(secondsOf(one.at)); });
    press.dataset.key = one.at;
    press.ariaLabel = `Key frame at ${one.at}: ${Object.entries(one.given).map((pair) => pair.join(" ")).join(", ")}. Arrow keys move it, Delete removes it`;
    press.title = Object.entries(one.given).map((pair) => pair.join(" ")).join(", ");
    item.style.setProperty("--at", Math.min(1, time / length()));
    press.addEventListener("keydown", (event) => {
      const way = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
      if (event.key === "Delete" || event.key === "Backspace") keep(without(time));
      else if (way) carry(one, time + way * (event.shiftKey ? 1 : 0.1));
      else return;
      event.preventDefault();
      (home.querySelector(`[data-key="${seconds(film.at)}"]`) ?? line).focus();
    });
    drag(press, item, one);
    item.append(press);
    return item;
  }

  function drag(press, item, one) {
    let from = null, to = null;
    press.addEventListener("pointerdown", (event) => { from = event.clientX; to = null; press.setPointerCapture(event.pointerId); });
    press.addEventListener("pointermove", (event) => {
      if (from === null || (to === null && Math.abs(event.clientX - from) < 5)) return;
      const box = line.getBoundingClientRect();
      to = Math.min(1, Math.max(0, (event.clientX - box.left - 8) / (box.width - 16))) * length();
      item.style.setProperty("--at", to / length());
    });
    press.addEventListener("pointerup", () => { if (to !== null) carry(one, to); from = null; });
    press.addEventListener("pointercancel", () => { from = to = null; });
    press.addEventListener("click", (event) => { if (to !== null) event.stopImmediatePropagation(); }, true);
  }

  /* ---- moments and their pictures ---- */

  /** What the moments depend on: not on where the moving values happen to stand. */
  function about() {
    const { picture, scene, values } = state.shot;
    const moved = new Set(moves().flatMap((one) => Object.keys(one.given)));
    const rest = Object.entries(values).filter(([name]) => !moved.has(name));
    return JSON.stringify([picture, scene, rest, moves(), length()]);
  }

  const ask = latest(async (wanted) => {
    const usual = STEP_S[state.shot.scene ? "scene" : "picture"], own = reel() ? 1 / reel().rate : usual;
    const step = Math.max(own, length() / MOST_MOMENTS), stride = Math.max(1, Math.round(usual / step));
    const { moments } = await api.moments(state.shot, length(), step);
    if (wanted !== about()) return;
    if (film.refused) tell("");
    Object.assign(film, { moments, step, stride, about: wanted, refused: false });
  }, (error) => {
    if (error instanceof api.Stale) return;
    film.about = about();
    film.moments = [];
    film.refused = true;
    stop();
    tell(error.message, true);
  });

  function valuesAt(time) {
    return at(time)?.given ?? film.moments[Math.min(film.moments.length - 1, Math.round(time / film.step))] ?? {};
  }

  /** The scene's own time at a moment of the film, or that of its frame; null where that is the shot's. */
  function timeAt(time) {
    if (reel()) return time > 0 || state.shot.values.time ? String(Math.round(1e5 * time) / 1e5) : null;
    return state.shot.scene && time > 0 ? String(Math.round(1000 * (Number(state.shot.values.time ?? 0) + time)) / 1000) : null;
  }

  function wishAt(time) {
    const { picture, scene, values, own } = state.shot;
    const one = { picture, scene, values: { ...values, ...valuesAt(time) }, own };
    return { one, time: timeAt(time), showing: state.seen.map ? "map" : "photograph", pixels: Math.min(PIXELS, Math.max(60_000, view.dots)), band: Boolean(state.seen.band), wiped: wiped() };
  }

  /** What moves by itself is wiped against its own moment; a pinned setting stands still. */
  const wiped = () => Boolean(state.seen.wipe && !state.pins[state.seen.against] && (state.shot.scene || reel()));

  /** The picture of a moment, made once; two who ask at a time wait for the same. */
  function pictureAt(time, passing) {
    const wish = wishAt(time), key = JSON.stringify(wish);
    const held = film.pictures.get(key);
    film.pictures.delete(key);
    const entry = held ?? { done: false, picture: made(wish, passing) };
    film.pictures.set(key, entry);
    if (film.pictures.size > KEPT) film.pictures.delete(film.pictures.keys().next().value);
    if (!held) entry.picture.then(() => { entry.done = true; }, () => film.pictures.delete(key));
    return entry.picture;
  }

  async function made({ one, time, wiped: both, ...how }, passing) {
    const { told, jpeg, bitmap } = await api.look(one, { ...how, passing }, undefined, time);
    bitmap.close();
    if (!both) return { told, jpeg };
    const before = await api.look(one, { pixels: how.pixels, showing: "before", aside: true, passing }, undefined, time);
    before.bitmap.close();
    return { told, jpeg, before: before.jpeg };
  }

  const known = (time) => film.pictures.get(JSON.stringify(wishAt(time)))?.done;

  async function show(time, passing) {
    const turn = ++film.turn, place = flow.shown(state.shot);
    const { told, jpeg, before } = await pictureAt(time, passing);
    const bitmap = await createImageBitmap(jpeg), other = before && await createImageBitmap(before);
    if (turn !== film.turn || place !== flow.shown(state.shot) || !isOpen()) {
      bitmap.close();
      other?.close();
      return false;
    }
    page.told = told;
    view.show(bitmap, told.shape);
    if (other && wiped()) view.showBefore(other);
    hears.moved(valuesAt(time));
    return true;
  }

  /* ---- scrub and play ---- */

  const scrub = latest((time) => show(time, Boolean(state.shot.scene)), failed);

  function failed(error) {
    if (error instanceof api.Stale) return;  // something newer is shown
    stop();
    tell(error.message, true);
  }

  /** Go to a moment and let the lens rest there. */
  function go(time) {
    stop();
    film.at = Math.min(Math.max(0, time), length());
    loosen();
    follow();
    arrive();
  }

  function loosen() {
    film.loose = true;
    flow.still();
    clearTimeout(film.timer);
    film.timer = setTimeout(rest, REST);
  }

  async function arrive() {
    if (film.about !== about()) await ask(about());
    await scrub(film.at);
  }

  /** The lens stays as it is at this moment: everything else on the page is about it now. */
  function rest() {
    stop();
    if (!film.loose) return;
    if (film.about !== about()) {  // its moments are still being worked out
      film.timer = setTimeout(rest, REST);
      return;
    }
    settle();
    hears.rests();
  }

  function settle() {
    clearTimeout(film.timer);
    film.loose = false;
    if (film.about !== about()) return;
    shot.put(valuesAt(film.at));
    api.moment.time = timeAt(film.at);
  }

  /** The shot was changed by other means: it is not laid over with this moment's values. */
  function leave() {
    stop();
    clearTimeout(film.timer);
    film.loose = false;
  }

  function stop() {
    if (!film.playing) return;
    film.playing = 0;
    film.turn += 1;
    follow();
  }

  async function run() {
    const mine = (film.playing = ++film.runs);
    const on = () => film.playing === mine;
    flow.still();
    clearTimeout(film.timer);
    film.loose = true;
    tell("");
    follow();
    if (film.about !== about()) await ask(about());
    if (!film.moments.length) { stop(); return; }
    const step = film.step * film.stride, count = Math.ceil(film.moments.length / film.stride);
    let number = Math.round(film.at / step);
    if (number >= count - 1) number = 0;
    let zero = performance.now() - 1000 * number * step;
    while (on()) {
      const time = Math.min(number * step, length()), ready = known(time);
      try {
        if (!ready) now.dataset.making = "";
        await show(time, true);
      } catch (error) {
        failed(error);
      }
      delete now.dataset.making;
      if (!on()) break;
      film.at = time;
      clock();
      if (!ready) zero = performance.now() - 1000 * number * step;  // a picture that had to be made takes its time
      const due = Math.floor((performance.now() - zero) / 1000 / step);
      number = Math.max(number + 1, due < count && known(Math.min(due * step, length())) ? due : 0);
      if (number >= count) {
        number = 0;
        zero = performance.now() + 1000 * step;
      }
      await new Promise((done) => setTimeout(done, Math.max(4, zero + 1000 * number * step - performance.now())));
    }
  }

  /* ---- what is shown ---- */

  function tell(sentence, bad = false) {
    says.textContent = sentence || hint();
    says.classList.toggle("bad", bad);
  }

  function hint() {
    const count = moves().length;
    if (reel() && !count) return "Your footage, through the lens. Key frames move the lens.";
    if (state.shot.scene && !count) return "Things move by themselves. Key frames move the lens.";
    if (!count) return "Set the lens for the beginning and set a key frame; go to a later moment, turn the lens, set another.";
    return count === 1 && !state.shot.scene && !reel() ? "One more key frame at another moment, and it moves." : "";
  }

  function clock() {
    line.value = film.at;
    now.textContent = `${film.at.toFixed(reel() ? 2 : 1)} of ${seconds(length())}`;
    line.ariaValueText = `${film.at.toFixed(2)} of ${seconds(length())}`;
    moment.show(seconds(film.at));
    set.textContent = at() ? "Set it anew" : "Set key frame";
  }

  function follow() {
    home.hidden = !isOpen();
    if (home.hidden && film.playing) rest();
    if (!state.seen.film && !film.playing && !film.loose && state.shot.still) shot.unseen();
    if (!film.loose && page.told) {
      const time = home.hidden ? null : timeAt(film.at);
      if (time !== api.moment.time) {
        api.moment.time = time;
        flow.want();
      }
    }
    if (home.hidden) return;
    line.max = length();
    line.step = reel() ? 1 / reel().rate : film.step;
    film.at = Math.min(film.at, length());
    clock();
    long.show(seconds(length()));
    play.textContent = film.playing ? "Pause" : "Play";
    play.disabled = !stirs();
    const here = at();
    drop.disabled = !here || Boolean(film.playing);
    const drawn = JSON.stringify([moves(), length()]);
    if (film.marks !== drawn) {
      film.marks = drawn;
      swap(marks, ...moves().map(mark));
      tell("");
    }
    for (const press of marks.querySelectorAll("button")) press.toggleAttribute("data-here", Boolean(here) && press.dataset.key === here.at);
    if (!says.textContent) tell("");
  }

  line.addEventListener("input", () => {
    stop();
    film.at = Number(line.value);
    loosen();
    follow();
    arrive();
  });

  shot.hooks.turning = () => { if (film.playing) stop(); if (film.loose) settle(); };

  return {
    follow,
    isOpen,
    /** Another place, or put away: time begins anew. */
    forget() {
      stop();
      clearTimeout(film.timer);
      Object.assign(film, { at: 0, moments: [], about: "", loose: false, turn: film.turn + 1 });
      film.pictures.clear();
      api.moment.time = null;
      tell("");
    },
    leave,
  };
}
