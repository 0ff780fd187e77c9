// The page: a shot, hands that turn it, and a picture that follows.

import * as api from "./api.js";
import { make } from "./dialog.js";
import { Hands, RINGS } from "./hands.js";
import { choose, listenForFiles, openDesk, openPlace, papers, placeButtons } from "./open.js";
import { showPins, sideBySide, thumbnail } from "./pins.js";
import { buildPlace } from "./place.js";
import * as shot from "./state.js";
import { openTakes } from "./takes.js";
import { buildLoupe } from "./loupe.js";
import { saysWords, showVerdict, verdictAges } from "./verdict.js";
import { View, bandMark, focusMark, frameMark, handleMarks, horizonMark, tellMarks } from "./view.js";
import { buildWish } from "./wish.js";
import { metres, spotWords } from "./words.js";

const $ = (id) => document.getElementById(id);
const DRAFT = 400_000;
const CLEAN = 1_500_000;
const REST = 260;

const page = { told: null, places: [], kinds: [], tab: "lens", lit: -1, said: null, shown: "", judged: "" };
const { state } = shot;

const view = new View({
  laid: () => { if (page.told) wantClean(); },
  click: (at) => {
    if (page.tab === "lens" && page.told) focusAt(at);
    if (page.tab === "wish") wish.click(at);
    if (page.tab === "place" && state.shot.picture) place.click(at);
  },
  grip: (at, reach, size) => grip(at, reach, size),
  hover: (at) => loupe.over(at),
  nudge: (dx, dy) => nudge(dx, dy),
  cut: () => {},
});

const lensHands = new Hands($("lens"), RINGS, (name, words) => shot.turn({ [name]: words }));

/* ---- pictures follow the shot ---- */

const flow = { busy: false, wanted: false, aborter: null, timer: 0 };

/** Something changed: show a draft at once, the clean picture and the verdict when hands rest. */
function want() {
  clearTimeout(flow.timer);
  flow.aborter?.abort();
  flow.wanted = true;
  pump();
}

function wantClean() {
  clearTimeout(flow.timer);
  flow.timer = setTimeout(refine, REST);
}

const opened = () => Boolean(state.shot.picture || state.shot.scene);

async function pump() {
  if (flow.busy || !flow.wanted || !opened()) return;
  flow.busy = true;
  flow.wanted = false;
  const { shot: asked, seen } = state, { tab } = page;
  try {
    const showing = tab === "place" && (asked.picture || seen.depth) ? (seen.depth ? "depth" : "whole") : seen.map ? "map" : "photograph";
    const wish = { pixels: Math.min(DRAFT, Math.max(60_000, view.dots)), showing, band: Boolean(seen.band) };
    const shown = await api.look(asked, wish);
    await present(shown, tab, true);
  } catch (error) {
    fail(error);
  }
  flow.busy = false;
  if (flow.wanted) pump();
  else wantClean();
}

async function refine() {
  if (flow.busy || !opened()) return;
  const aborter = (flow.aborter = new AbortController());
  const { signal } = aborter, { shot: asked, seen } = state, { tab } = page;
  try {
    if (tab !== "place" && !seen.map) {
      const wish = { pixels: Math.min(CLEAN, Math.max(60_000, view.dots)), fine: true, band: Boolean(seen.band) };
      await present(await api.look(asked, wish, signal), tab, false);
    }
    const about = JSON.stringify([asked, page.told?.waiting === null]);
    if (page.judged === about) {
      judged(page.said);
      return;
    }
    const said = await api.verdict(asked, signal);
    if (signal.aborted) return;
    page.judged = about;
    judged(said);
  } catch (error) {
    if (!signal.aborted) fail(error);
  }
}

async function present({ told, bitmap }, tab, draft) {
  if (tab !== page.tab) {
    bitmap.close();
    return;
  }
  trouble("");
  $("frame").classList.remove("late");
  const moved = !page.told || String(page.told.frame) !== String(told.frame) || page.shown !== shown(state.shot);
  page.told = told;
  page.shown = shown(state.shot);
  view.show(bitmap, tab === "place" && state.shot.picture ? told.whole_shape : told.shape);
  wait(told.waiting);
  if (state.seen.wipe && tab !== "place" && (moved || !draft || !view.before)) await fetchBefore(draft);
  follow();
}

/** A demo scene is still being traced in full: look again soon. */
function wait(share) {
  const on = typeof share === "number";
  $("waiting").hidden = !on;
  clearTimeout(flow.again);
  if (on) {
    $("waiting").textContent = `draft; the clean picture is on its way, ${Math.round(100 * share)} %`;
    flow.again = setTimeout(() => {
      flow.wanted = true;
      pump();
    }, 900);
  }
}

/** Another place was opened: what is known is about the old one. */
function forget() {
  Object.assign(page, { told: null, said: null, judged: "", shown: shown(state.shot) });
  view.clear();
  showVerdict("", {});
  trouble("");
}

const shown = (one) => `${one.picture}/${one.scene}`;

async function fetchBefore(draft) {
  const against = state.pins[state.seen.against]?.shot;
  const pixels = draft ? DRAFT : Math.min(CLEAN, Math.max(60_000, view.dots));
  try {
    const { bitmap } = await api.look(against ?? state.shot, { pixels, showing: against ? "photograph" : "before", aside: true });
    view.showBefore(bitmap);
  } catch (error) {
    fail(error);
  }
}

function fail(error) {
  if (error instanceof api.Stale) return;
  $("frame").classList.add("late");
  trouble(error.message);
  follow();
}

function trouble(sentence) {
  $("trouble").textContent = sentence;
  $("trouble").hidden = !sentence;
}

function tell(sentence, bad) {
  if (bad) trouble(sentence);
  else if (sentence) $("status").textContent = sentence;
}

/* ---- what is shown follows what is known ---- */

function follow() {
  const { shot: one, seen, past, future } = state;
  const any = opened();
  document.querySelector("main").classList.toggle("bare", !any);
  const known = Boolean(page.told);
  for (const [id, here] of [["frame", any], ["empty", !any], ["switches", any], ["answer", any], ["hands", any]]) $(id).hidden = !here;
  for (const id of ["switches", "answer", "hands"]) $(id).classList.toggle("away", !known || (id === "switches" && page.tab === "place"));
  if (any && !known && $("trouble").hidden) {
    $("waiting").textContent = one.scene ? "building the place" : "opening the picture";
    $("waiting").hidden = false;
  }
  $("open-name").textContent = one.name || "Open a picture";
  $("undo").disabled = !past.length;
  $("redo").disabled = !future.length;
  $("save").disabled = !any;
  document.title = one.name ? `${one.name} · Hingeline` : "Hingeline";
  for (const press of document.querySelectorAll("[data-switch]")) {
    press.setAttribute("aria-pressed", Boolean(seen[press.dataset.switch]));
  }
  $("wipe").firstElementChild.dataset.words = state.pins[seen.against] ? `pinned ${seen.against + 1}  now` : "before  after";
  $("wipe").hidden = !(seen.wipe && page.tab !== "place");
  lensHands.follow(one.values, page.told);
  place.follow(one, page.told);
  wish.follow();
  if (page.told) told();
  overlays();
}

function told() {
  const { words, notes, depth, remarks } = page.told;
  const list = $("told");
  const lines = [`depth: ${depth}`, ...notes, ...remarks];
  list.replaceChildren(...lines.map((line) => make("li", `${line[0].toUpperCase()}${line.slice(1)}`)));
  $("picture").setAttribute("aria-label", `${state.shot.name}: ${words}`);
}

function overlays() {
  const { told: is, tab } = page, { seen } = state;
  if (!is) return;
  const marks = [];
  if (tab === "place") {
    if (state.shot.picture) marks.push(frameMark(is.frame));
    if (state.shot.picture && is.horizon !== null) marks.push(horizonMark(is.horizon, true));
    if (state.shot.picture) marks.push(...place.marks());
  } else {
    if (seen.band && is.band) marks.push(bandMark(is.band), handleMarks(is.handles));
    if (tab === "wish") marks.push(...wish.marks(is));
    if (seen.horizon && is.horizon !== null) marks.push(horizonMark((is.horizon - is.frame[1]) / is.frame[3], false));
    if (seen.telltales && page.said?.telltales) marks.push(tellMarks(page.said.telltales.map((tale, at) => ({ ...tale, lit: at === page.lit }))));
    if (is.focus) marks.push(focusMark(is.focus, is.focus_m > 1e5 ? "focus on the sky" : `focus ${metres(is.focus_m)}`));
  }
  view.overlay(marks);
}

function judged(said) {
  page.said = said;
  const guessed = shot.guesses();
  page.guessed = guessed.join();
  $("status").textContent = `${saysWords(said, guessed)}. ${said.why}`;
  showVerdict(said, {
    apply: (values) => shot.turn(values),
    light: (at) => { page.lit = page.lit === at ? -1 : at; shot.see({ telltales: true }); },
    guessed,
    put: () => { openTab("place"); $("tab-place").focus(); },
    confirm: shot.confirmGuesses,
  });
  overlays();
}

/* ---- hands in the picture ---- */

function focusAt({ x, y }) {
  const [left, top, wide, high] = page.told.frame;
  shot.turn({ focus: spotWords(left + x * wide, top + y * high) });
}

function nudge(dx, dy) {
  if (page.tab !== "lens" || !page.told) return;
  const [x, y] = page.told.focus ?? [0.5, 0.5];
  const inside = (value) => Math.min(0.999, Math.max(0.001, value));
  focusAt({ x: inside(x + dx), y: inside(y + dy) });
}

function grip(at, reach, size) {
  if (!page.told) return null;
  if (page.tab === "place" && state.shot.scene) return place.walk(at, page.told);
  if (page.tab === "place") return place.grip(at, reach, size, page.told);
  if (page.tab === "wish") return wish.grip(at);
  return state.seen.band && page.told.handles ? bandGrip(at, reach, size) : null;
}

/** The band is taken in the middle, and the focus follows; or by an end, and the swing does too. */
function bandGrip(at, reach, size) {
  const { handles } = page.told;
  const near = handles.findIndex(([x, y]) => Math.hypot((x - at.x) * size.width, (y - at.y) * size.height) < reach + 8);
  if (near < 0) return null;
  const others = handles.length === 3 && near !== 1 ? [handles[2 - near]] : [];
  const x = handles[near][0];
  const lay = latest(async (y) => {
    const values = await api.lay(state.shot, [...others, [x, y]]);
    if (state.holding) shot.turn(values);
  });
  return { begin: shot.hold, move: (to) => lay(Math.min(0.995, Math.max(0.005, to.y))), end: () => setTimeout(shot.release, 250) };
}

/** Run one at a time; while one runs only the newest wish is kept. */
function latest(work) {
  let busy = false, next = null;
  return async function run(wanted) {
    next = { wanted };
    if (busy) return;
    busy = true;
    while (next) {
      const { wanted: now } = next;
      next = null;
      try {
        await work(now);
      } catch (error) {
        fail(error);
      }
    }
    busy = false;
  };
}

/* ---- the strip ---- */

function openTab(name) {
  page.tab = name;
  for (const tab of document.querySelectorAll("[role=tab]")) {
    const here = tab.id === `tab-${name}`;
    tab.setAttribute("aria-selected", here);
    tab.tabIndex = here ? 0 : -1;
    $(tab.getAttribute("aria-controls")).hidden = !here;
  }
  lensHands.redraw();
  place.redraw();
  want();
}

for (const tab of document.querySelectorAll("[role=tab]")) {
  tab.addEventListener("click", () => openTab(tab.id.slice(4)));
  tab.addEventListener("keydown", (event) => {
    const way = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (!way) return;
    const tabs = [...document.querySelectorAll("[role=tab]")];
    const next = tabs[(tabs.indexOf(tab) + way + tabs.length) % tabs.length];
    next.focus();
    openTab(next.id.slice(4));
  });
}

for (const press of document.querySelectorAll("[data-switch]")) {
  press.addEventListener("click", () => {
    const name = press.dataset.switch;
    shot.see({ [name]: !state.seen[name], ...(name === "wipe" ? { against: null } : {}) });
    if (name === "wipe" && state.seen.wipe) fetchBefore(false);
    if (name === "map" || (name === "band" && state.seen.band)) want();
    if (name === "loupe" && !state.seen.loupe) loupe.hide();
  });
}

/* ---- keep, take away, undo ---- */

/** Keep the setting as it is now, with a small picture made for it. */
async function pin() {
  const one = structuredClone(state.shot);
  try {
    const { told: about, bitmap } = await api.look(one, { pixels: 60_000, aside: true });
    const verdict = page.judged.startsWith(JSON.stringify([one]).slice(0, -1)) ? page.said.short : "";
    shot.pinned([...state.pins, { shot: one, words: about.words, verdict, picture: thumbnail(bitmap) }].slice(-8));
    bitmap.close();
  } catch (error) {
    fail(error);
  }
}

function pins() {
  showPins({
    pin,
    against: (at) => {
      const on = !(state.seen.wipe && state.seen.against === at);
      shot.see({ wipe: on, against: on ? at : null });
      if (on) fetchBefore(false);
    },
    compare: () => sideBySide((one) => api.look(one, { pixels: 500_000, aside: true })),
  });
}

$("open").addEventListener("click", () => openDesk(page.places));
$("choose").addEventListener("click", choose);
$("undo").addEventListener("click", shot.undo);
$("redo").addEventListener("click", shot.redo);
$("save").addEventListener("click", () => openTakes(page.kinds.filter((kind) => kind !== "exact" || state.shot.scene), (kind) => (kind === "board" ? [state.shot, ...state.pins.map((kept) => kept.shot).filter((one) => !shot.same(one, state.shot))] : [state.shot])));
$("theme").addEventListener("click", () => shot.see({ light: !state.seen.light }));
addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z") return;
  if (event.target.matches("input[type=text]") && event.target.value !== event.target.defaultValue && document.activeElement === event.target) return;
  event.preventDefault();
  if (event.shiftKey) shot.redo();
  else shot.undo();
});
$("frame").addEventListener("wheel", (event) => {
  if (page.tab !== "place" || !state.shot.scene || !page.told) return;
  event.preventDefault();
  place.stride(Math.sign(event.deltaY), page.told);
}, { passive: false });
addEventListener("pagehide", shot.keepNow);

function themed() {
  const light = Boolean(state.seen.light);
  document.documentElement.dataset.theme = light ? "light" : "dark";
  $("theme").setAttribute("aria-pressed", light);
  lensHands.redraw();
  place.redraw();
}

shot.listen((what) => {
  if (what === "shot") {
    if (page.shown !== shown(state.shot)) forget();
    verdictAges();
    want();
  }
  if (what === "pins" || what === "seen" || what === "shot") pins();
  if (what === "seen") {
    themed();
    if (page.said && page.guessed !== shot.guesses().join()) judged(page.said);
  }
  follow();
});

/* ---- begin ---- */

const place = buildPlace($("place"), (changes) => shot.turn(changes), () => { shot.see({ depth: !state.seen.depth }); want(); });
const wish = buildWish($("wish"), { told: () => page.told, changed: () => follow(), trouble });
const loupe = buildLoupe(view, () => (state.seen.loupe && page.tab !== "place" ? state.shot : null), fail);
$("lens").append(Object.assign(make("ul", "", "told"), { id: "told" }));

async function begin() {
  listenForFiles(tell);
  let start;
  try {
    start = await api.start();
  } catch (error) {
    trouble(error.message);
    return;
  }
  Object.assign(page, { places: start.places, kinds: start.kinds });
  Object.assign(papers, start.papers);
  $("places").replaceChildren(...placeButtons(start.places, openPlace));
  const kept = shot.kept();
  const there = kept && (kept.shot.scene || start.papers[kept.shot.picture]);
  const early = opened();  // something was dropped before the program answered: that counts
  if (kept && !early) shot.bringBack(kept);
  if (!early && start.shot && !(there && shown(kept.shot) === shown(start.shot))) {
    const { guessed, ...first } = start.shot;
    shot.begin(first);
    shot.see({ guessed });
    if (start.problem) trouble(start.problem);
  }
  else if (!early && !there) shot.begin(shot.empty());
  themed();
  pins();
  follow();
  want();
  document.fonts.ready.then(() => { lensHands.redraw(); place.redraw(); });
  announceTabs();
}

/** Two tabs each keep their own settings; say so once. */
function announceTabs() {
  const others = new BroadcastChannel("hingeline");
  others.onmessage = ({ data }) => {
    if (data === "here?") others.postMessage("here");
    tell("This page is open in another tab too: a reload brings back what was changed last, in either.", true);
    setTimeout(() => trouble(""), 6000);
  };
  others.postMessage("here?");
}

begin();
