// The page: a shot, hands that turn it, and a picture that follows.

import * as api from "./api.js";
import { buildBand } from "./band.js";
import { make } from "./dialog.js";
import { buildFilm } from "./film.js";
import { buildFlow } from "./flow.js";
import { Hands, RINGS } from "./hands.js";
import { lensRow } from "./lens.js";
import { buildLoupe } from "./loupe.js";
import { bandMark, focusMark, frameMark, horizonMark, lineMark, tellMarks } from "./marks.js";
import { choose, listenForFiles, openDesk, openPlace, own, papers, placeButtons } from "./open.js";
import { forBoard, showPins, sideBySide, thumbnail } from "./pins.js";
import { buildPlace } from "./place.js";
import { openPlan } from "./plan.js";
import { fold } from "./settings.js";
import * as shot from "./state.js";
import { openTakes } from "./takes.js";
import { showStops, showVerdict, verdictAges } from "./verdict.js";
import { View } from "./view.js";
import { buildWish } from "./wish.js";
import { capital, metres, spotWords, tellIn, tied } from "./words.js";

const $ = (id) => document.getElementById(id);
const { state } = shot;
const page = { told: null, places: [], kinds: [], asks: [], tab: "lens", lit: -1, said: null, shown: "", waits: "" };
let place, wish, lensHands, lens, camera, loupe, flow, film;

const view = new View({
  laid: () => { if (page.told) flow.wantClean(); },
  click: (at) => {
    if (!page.told) return;
    if (page.tab === "lens" && state.seen.loupe) loupe.over(at);  // who looks closely sets no focus
    else if (page.tab === "lens") focusAt(at);
    if (page.tab === "wish") wish.click(at);
    if (page.tab === "place" && state.shot.picture) place.click(at);
  },
  grip(at, reach, size) {
    if (!page.told) return null;
    if (page.tab === "place") return state.shot.scene ? place.walk(at, page.told) : place.grip(at, reach, size, page.told, view.above);
    return page.tab === "wish" ? wish.grip(at) : null;
  },
  hover: (at) => loupe?.over(at),
  nudge(dx, dy) {
    if (page.tab !== "lens" || !page.told) return;
    const [x, y] = page.told.focus ?? [0.5, 0.5];
    const inside = (value) => Math.min(0.999, Math.max(0.001, value));
    focusAt({ x: inside(x + dx), y: inside(y + dy) });
  },
  points: () => page.tab !== "lens" && Boolean(page.told) && (page.tab === "wish" || Boolean(state.shot.picture)),
  wheel(event) {
    if (page.tab !== "place" || !state.shot.scene || !page.told) return;
    event.preventDefault();
    if (event.deltaY) place.stride(Math.sign(event.deltaY), page.told);
  },
});

const band = buildBand(view, page, { redraw: () => overlays(), fail: (error) => fail(error) });

function focusAt({ x, y }) {
  const [left, top, wide, high] = page.told.frame;
  shot.attempt({ focus: spotWords(left + x * wide, top + y * high) });
}

/** Another place was opened: what is known is about the old one. */
function forget() {
  Object.assign(page, { told: null, said: null, lit: -1, shown: flow.shown(state.shot), waits: "" });
  flow.forget();
  film.forget();
  // the line of time is there for footage and key frames; elsewhere for whoever asks for it
  state.seen.film &&= Boolean(papers[state.shot.picture]?.footage || state.shot.moves?.length);
  view.clear();
  view.headroom(0);
  showVerdict(null, {});
  showStops([]);
  $("status").textContent = "";  // nothing is known of it yet
  trouble("");
}

/** What went wrong; `late`: the picture shown is no more that of the shot. */
function fail(error, late = false) {
  if (error instanceof api.Stale) return;
  $("frame").classList.toggle("late", late);
  trouble(error.message, late && error instanceof api.Told && state.past.length > 0, !late);
  follow();
}

/** A sentence that stays until it is closed or the shot changes, or only until the next picture. */
function trouble(sentence, undo = false, stays = true) {
  page.stays = stays;
  $("trouble-says").textContent = sentence;
  $("trouble").hidden = !sentence;
  $("trouble-undo").hidden = !undo;
}

function say(sentence, bad) {
  if (bad) trouble(sentence);
  else if (sentence) trouble("");
  page.opening = bad ? "" : sentence;
  waits();
  if (sentence) $("status").textContent = bad ? "" : sentence;  // the notice says what is bad
}

function waits() {
  const { told, opening } = page, any = flow.opened();
  let words = opening ?? "";
  if (!words && any && !told && $("trouble").hidden) words = page.waits || (state.shot.scene ? "building the place" : "reading the picture");
  if (!words && typeof told?.waiting === "number") words = `draft; the clean picture is on its way, ${Math.round(100 * told.waiting)} %`;
  $("waiting").textContent = words;
  $("waiting").hidden = !words;
}

/* ---- what is shown follows what is known ---- */

function follow() {
  const { shot: one, seen, past, future } = state;
  const any = flow.opened(), known = Boolean(page.told);
  document.querySelector("main").classList.toggle("bare", !any);
  document.body.dataset.tab = page.tab;
  for (const [id, here] of [["frame", any], ["empty", !any], ["switches", any], ["answer", any], ["hands", any]]) $(id).hidden = !here;
  for (const id of ["switches", "answer", "hands"]) $(id).classList.toggle("away", (!known && !(id === "hands" && !$("trouble").hidden)) || (id === "switches" && page.tab === "place"));
  waits();
  $("open-name").textContent = one.name || "Open a picture";
  $("undo").disabled = !past.length;
  $("redo").disabled = !future.length;
  $("save").disabled = !known;
  document.title = one.name ? `${one.name} · Hingeline` : "Hingeline";
  for (const press of document.querySelectorAll("[data-switch]")) press.ariaPressed = Boolean(seen[press.dataset.switch]);
  $("wipe").firstElementChild.dataset.words = shot.against() ? `pinned ${seen.against + 1}  now` : "before  after";
  view.wiped(Boolean(seen.wipe) && page.tab !== "place");
  $("legend").hidden = !(seen.map && page.tab !== "place" && known);
  view.headroom(page.tab === "place" && one.picture && known && !state.holding ? Math.min(1.2, Math.max(0.22, 0.12 - (page.told.horizon ?? 0))) : page.tab === "place" ? view.above : 0);
  lensHands.follow(one.values, page.told);
  lens.follow(one.values["lens-file"]);
  camera.follow(one.values);
  place.follow(one, page.told);
  wish.follow();
  film.follow();
  if (known) told();
  overlays();
}

function told() {
  const { words, notes, depth, remarks, coc_percent: coc } = page.told;
  const lines = [`depth: ${depth}`, ...notes, ...remarks].map((line) => tied(capital(line)));
  if ($("told").dataset.now !== String(lines)) {
    $("told").dataset.now = String(lines);
    $("told").replaceChildren(...lines.map((line) => make("li", line)));
  }
  const said = (begins) => lines.find((line) => line.startsWith(begins)), missing = said("The focus ring of ");
  lensHands.rings.get("focus").note(missing ?? said("The focus, "), Boolean(missing));
  $("picture").ariaLabel = `${state.shot.name}: ${words}`;
  for (const mark of $("legend").querySelectorAll("[data-times]")) mark.textContent = `${Number((coc * mark.dataset.times).toPrecision(2))}\u00a0%`;
  const keys = {
    lens: `${state.seen.loupe ? "Point or tap to look through the loupe: the focus stays. " : ""}Arrow keys move the focus; with Shift, farther.`,
    place: state.shot.picture ? "Arrow keys move the cross. Enter sets a point, Space begins and ends a line or an outline, Escape leaves it." : "Turn the camera with the rings.",
    wish: "Arrow keys move the cross. Enter sets a point, Space begins and ends a box, Escape leaves it.",
  }[page.tab];
  $("keys").textContent = keys;
  $("frame").ariaLabel = `Picture. ${keys}`;
}

function overlays() {
  const { told: is, tab } = page, { seen } = state;
  if (!is) return band.follow(false);
  const marks = [];
  if (tab === "place") {
    if (state.shot.picture) marks.push(frameMark(is.frame));
    if (state.shot.picture && is.horizon !== null) marks.push(horizonMark(is.horizon, true, view.above));
    if (state.shot.picture) marks.push(...is.near.map((ring, at) => lineMark(ring, "near", true, at ? "" : "taken as near")));
    if (state.shot.picture) marks.push(...place.marks());
  } else {
    if (seen.band && is.band) marks.push(bandMark(is.band, band.moved));
    if (tab === "wish") marks.push(...wish.marks());
    const guess = is.guessed.horizon;
    if ((seen.horizon || guess) && is.horizon !== null) marks.push(horizonMark((is.horizon - is.frame[1]) / is.frame[3], false));
    if (seen.telltales && page.said?.telltales) marks.push(tellMarks(page.said.telltales.map((tale, at) => ({ ...tale, lit: at === page.lit }))));
    if (is.focus) marks.push(focusMark(is.focus, is.focus_m > 1e5 ? "focus on the sky" : `focus ${metres(is.focus_m)}`));
  }
  band.follow(Boolean(seen.band) && tab === "lens" && Boolean(is.handles));
  view.overlay(marks);
}

function judged(said) {
  page.said = said;
  $("status").textContent = `${said.sentence}. ${said.why}`;
  showVerdict(said, {
    apply: (values) => shot.attempt(values),
    light: (at) => { page.lit = page.lit === at ? -1 : at; shot.see({ telltales: true }); },
    guessed: shot.guesses(page.told),
    put: () => { openTab("place"); $("tab-place").focus(); },
    confirm: () => shot.confirmGuesses(page.told),
    draw: (tool) => { openTab("place"); place.found.pick(tool); $("tab-place").focus(); },
    judging: {
      now: state.shot.judging ?? {},
      set(changes) {
        const judging = Object.entries({ ...state.shot.judging, ...changes }).filter(([, words]) => words !== null);
        shot.replace({ ...state.shot, judging: judging.length ? Object.fromEntries(judging) : undefined });
      },
    },
    asks: page.asks,
    fail: (sentence) => trouble(sentence),
  });
  overlays();
}

/* ---- the strip ---- */

function openTab(name) {
  if (page.tab !== name) {
    $("hands").scrollTop = 0;
    if (page.stays && page.told) trouble("");
  }
  page.tab = name;
  loupe?.hide();
  if (state.seen.tab !== name) shot.see({ tab: name });
  if (name !== "place") place.found.put();
  for (const tab of document.querySelectorAll("[role=tab]")) {
    const here = tab.id === `tab-${name}`;
    tab.ariaSelected = here;
    tab.tabIndex = here ? 0 : -1;
    $(tab.getAttribute("aria-controls")).hidden = !here;
  }
  lensHands.redraw();
  place.redraw();
  flow.want();
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
    if (name === "wipe" && state.seen.wipe) flow.before(false);
    if (name === "map" || (name === "band" && state.seen.band)) flow.want();
    if (name === "loupe" && !state.seen.loupe) loupe.hide();
  });
}

/* ---- keep, save, undo ---- */

async function pin() {
  const { still, ...one } = structuredClone(state.shot);
  try {
    const { told: about, bitmap } = await api.look(one, { pixels: 60_000, aside: true });
    const verdict = page.said && !page.said.draft && flow.about(one) ? page.said.short : "";
    shot.pinned([...state.pins, { shot: one, words: about.words, focus: about.focus_m, verdict, picture: thumbnail(bitmap) }].slice(-8));
    bitmap.close();
  } catch (error) {
    fail(error);
  }
}

function pins() {
  showPins({
    against(at) {
      const on = !(state.seen.wipe && state.seen.against === at);
      shot.see({ wipe: on, against: on ? at : null });
      if (on) flow.before(false);
    },
    compare: () => sideBySide((one) => api.look(one, { pixels: 500_000, aside: true })),
  });
}

function takes(only = "", answers = {}) {
  const asked = (kind) => (page.told?.reel ? { ...kind, asks: kind.asks.filter(({ name }) => name !== "footage") } : kind);
  const kinds = page.kinds.map(asked).filter(({ kind }) => !only || kind === only).filter(({ only }) => !only || Boolean(only === "scene" ? state.shot.scene : state.shot.picture));
  const board = forBoard();
  openTakes(kinds.map((kind) => (kind.kind === "board" ? { ...kind, about: kind.about + board.left } : kind)), (kind) => (kind === "board" ? board.shots : [state.shot]), page.told ?? {}, state.shot.judging ?? {}, { [only]: answers });
}

$("pin").addEventListener("click", pin);
$("open").addEventListener("click", () => openDesk(page.places));
$("choose").addEventListener("click", choose);
$("undo").addEventListener("click", shot.undo);
$("redo").addEventListener("click", shot.redo);
$("save").addEventListener("click", () => takes());
$("theme").addEventListener("click", () => shot.see({ light: !state.seen.light }));
$("trouble-close").addEventListener("click", () => { trouble(""); $("frame").focus(); });
$("trouble-undo").addEventListener("click", () => { shot.undoUnshown(); trouble(""); $("frame").focus(); });
let typing = null;
addEventListener("input", (event) => { typing = event.target; });
for (const done of ["change", "focusout"]) addEventListener(done, () => { typing = null; });
addEventListener("keydown", (event) => {
  if (event.key === "Enter" || event.key === "Escape") typing = null;
  if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z") return;
  if (event.target === typing) return;  // the browser takes back what is being typed
  event.preventDefault();
  if (event.shiftKey) shot.redo();
  else shot.undo();
});
addEventListener("pagehide", shot.keepNow);

function themed() {
  const light = Boolean(state.seen.light);
  document.documentElement.dataset.theme = light ? "light" : "dark";
  $("theme").textContent = light ? "Dark screen" : "Light screen";
  lensHands.redraw();
  place.redraw();
}

function heard(what) {
  if (what === "shot") {
    trouble("");
    film.leave();
    if (page.shown !== flow.shown(state.shot)) forget();
    verdictAges();
    flow.want();
  }
  pins();
  if (what === "seen") themed();
  follow();
}

/* ---- begin ---- */

async function begin() {
  let start;
  try {
    start = await api.start();
  } catch (error) {
    trouble(error.message);
    return;
  }
  tellIn(start.units);
  Object.assign(page, { places: start.places, kinds: start.kinds, asks: start.judging });
  for (const key of start.keys) shot.keys[key.name] = key;
  Object.assign(papers, start.papers);
  Object.assign(own, start.own);
  flow = buildFlow(view, page, {
    shown() {
      $("frame").classList.remove("late");
      loupe.again();
      if (!page.stays) trouble("");
      follow();
    },
    said: (said) => judged(said ?? page.said),
    stops: (stops) => showStops(stops, (values) => shot.attempt(values)),
    fail: (error, back) => fail(error, !back),
    waits(words) { page.waits = words; waits(); },
  });
  film = buildFilm(view, page, flow, {
    moved(values) { verdictAges(); lensHands.follow({ ...state.shot.values, ...values }, page.told); overlays(); },
    rests() { verdictAges(); follow(); flow.rested(); },
    take: () => takes("film", { clip: null }),
  });
  lens = lensRow(start.lenses, trouble);
  lensHands = new Hands($("lens"), RINGS, (name, words) => shot.turn({ [name]: words }));
  $("lens").append(lens.row);
  camera = fold($("lens"), "Camera and iris", "", start.keys.filter((key) => key.group === "camera"), (changes) => shot.attempt(changes), trouble);
  $("lens").append(Object.assign(make("ul", "", "told"), { id: "told" }));
  place = buildPlace($("place"), {
    depth(how) { if ((state.seen.depth || false) !== how) { shot.see({ depth: how }); flow.want(); } },
    changed: () => overlays(),
    fail,
    plan: () => openPlan(fail),
  });
  wish = buildWish($("wish"), { told: () => page.told, changed: () => overlays(), fail });
  loupe = buildLoupe(view, () => (state.seen.loupe && page.tab !== "place" ? state.shot : null), fail);
  $("places").replaceChildren(...placeButtons(page.places, openPlace));
  shot.listen(heard);
  listenForFiles(say);
  restore(start);
  if (state.seen.depth === "laid") shot.see({ depth: false });
  themed();
  pins();
  openTab(state.seen.tab ?? "lens");
  follow();
  document.fonts.ready.then(() => { lensHands.redraw(); place.redraw(); });
  announceTabs();
}

/** What was there at the last visit comes back, unless the program was started with another. */
function restore(start) {
  const kept = shot.kept();
  const one = kept?.shot;
  const there = one && (start.places.some(({ name }) => name === one.scene) || start.papers[one.picture ?? one.scene]);
  if (kept) shot.bringBack(kept);
  if (start.shot && !(there && (kept.own || flow.shown(one) === flow.shown(start.shot)))) {
    const first = start.shot;
    shot.begin(first);
    shot.see({ against: null, wipe: false, left: {} });
    if (there && kept.pins.length) shot.pinned(kept.pins);
    else shot.pinned(state.pins.filter((pinned) => pinned.shot.picture === first.picture && pinned.shot.scene === first.scene));
    if (start.papers[first.picture]?.footage) shot.see({ film: true });
    if (start.problem) trouble(start.problem);
  } else if (!there) {
    shot.begin(shot.empty());
    if (one?.picture || one?.scene) {
      state.waiting = kept;
      shot.pinned([]);
      $("again").textContent = `${one.name} was open here: drop it once more to go on where you were.`;
      $("again").hidden = false;
    }
  }
}

/** Two tabs each keep their own settings; say so once. */
function announceTabs() {
  const others = new BroadcastChannel("hingeline");
  others.onmessage = ({ data }) => {
    if (data === "here?") others.postMessage("here");
    say("This page is open in another tab too: a reload brings each back to its own place and settings.", true);
    setTimeout(() => trouble(""), 8000);
  };
  others.postMessage("here?");
}

begin();

