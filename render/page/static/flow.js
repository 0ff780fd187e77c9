// Pictures follow the shot: a draft at once, the clean picture and the verdict when hands rest.

import * as api from "./api.js";
import * as shot from "./state.js";

const { state } = shot;
const DRAFT = 400_000;
const CLEAN = 1_500_000;
const REST = 260;
/** What is judged of a shot: not what is wished of it, nor what it is where no film is seen. */
const judgedOf = ({ wished, still, ...one }) => one;

/**
 * @param {import("./view.js").View} view
 * @param {object} page `tab` and `told`
 * @param {object} hears shown(told, tab, draft, moved), said(verdict), stops(list), fail(error),
 *   waits(words)
 */
export function buildFlow(view, page, hears) {
  const flow = { busy: false, wanted: false, aborter: null, draft: null, asked: "", timer: 0, again: 0, judged: "", asking: false, quiet: false };

  const opened = () => Boolean(state.shot.picture || state.shot.scene);
  const clean = () => Math.min(CLEAN, Math.max(60_000, view.dots));
  const shown = shot.placeOf;

  function want() {
    clearTimeout(flow.timer);
    flow.aborter?.abort();
    flow.quiet = false;
    flow.wanted = true;
    if (flow.busy && flow.asked !== shown(state.shot)) flow.draft.abort();  // nobody waits for the place that was left
    pump();
  }

  function wantClean() {
    clearTimeout(flow.timer);
    if (!flow.quiet) flow.timer = setTimeout(refine, REST);
  }

  /** A film is played or scrubbed: nothing is wanted of the lens until it rests. */
  function still() {
    clearTimeout(flow.timer);
    clearTimeout(flow.again);
    flow.aborter?.abort();
    flow.wanted = false;
    flow.quiet = true;
  }

  function rested() {
    flow.quiet = false;
    wantClean();
  }

  function wishFor(asked, tab, seen) {
    const showing = tab === "place" && (asked.picture || seen.depth) ? (seen.depth ? (seen.depth === "laid" ? "laid" : "depth") : "whole") : seen.map ? "map" : "photograph";
    return { pixels: Math.min(DRAFT, Math.max(60_000, view.dots)), showing, band: Boolean(seen.band) };
  }

  async function pump() {
    if (flow.busy || !flow.wanted || !opened()) return;
    flow.busy = true;
    flow.wanted = false;
    const { shot: asked, seen } = state, { tab } = page;
    flow.asked = shown(asked);
    flow.draft = new AbortController();
    const { signal } = flow.draft;
    try {
      if (!page.told) waitFor();
      await present(await api.look(asked, wishFor(asked, tab, seen), signal), asked, tab, true);
    } catch (error) {
      if (!signal.aborted) refused(error);
    }
    flow.busy = false;
    if (flow.wanted) pump();
    else wantClean();
  }

  async function refine() {
    if (flow.busy || !opened()) return;
    const aborter = (flow.aborter = new AbortController());
    const { signal } = aborter, { shot: asked, seen } = state, { judging = {} } = asked, { tab } = page;
    try {
      const wish = wishFor(asked, tab, seen), is = wish.showing === "photograph";
      // also where no finer picture is seen: what is said of it is that of the picture's own size
      if (is ? tab !== "place" : asked.picture) await present(await api.look(asked, { ...wish, ...(is && { pixels: clean() }), fine: true }, signal), asked, tab, false);
      const about = JSON.stringify([judgedOf(asked), page.told?.draft, api.moment.time]);
      if (flow.judged !== about) {
        const said = await api.verdict(asked, judging, signal);
        if (signal.aborted || asked !== state.shot) return;
        flow.judged = about;
        hears.said(said, asked);
        const stops = await api.stops(asked, judging, signal);
        if (!signal.aborted) hears.stops(stops);
      } else hears.said(null, asked);
    } catch (error) {
      if (!signal.aborted) refused(error);
    }
  }

  function refused(error) {
    if (error instanceof api.Stale) return;
    const back = error instanceof api.Told && shot.settle(true);
    hears.fail(error, back);
  }

  async function present({ told, bitmap }, asked, tab, draft) {
    if (tab !== page.tab || flow.quiet || shown(asked) !== shown(state.shot)) {
      bitmap.close();
      return;
    }
    clearTimeout(flow.waits);
    if (asked === state.shot) shot.settle(false);
    state.fits = asked;
    const moved = !page.told || String(page.told.frame) !== String(told.frame) || page.shown !== shown(state.shot);
    page.told = told;
    page.shown = shown(state.shot);
    view.show(bitmap, tab === "place" && state.shot.picture ? told.whole_shape : told.shape);
    clearTimeout(flow.again);
    if (typeof told.waiting === "number") flow.again = setTimeout(() => { flow.wanted = !flow.quiet; pump(); }, 900);
    if (state.seen.wipe && tab !== "place" && (moved || !draft || !view.before)) await before(draft);
    hears.shown();
  }

  async function before(draft) {
    const against = shot.against();
    try {
      const { bitmap } = await api.look(against ?? state.shot, { pixels: draft ? DRAFT : clean(), showing: against ? "photograph" : "before", aside: true });
      if (state.seen.wipe) view.showBefore(bitmap);
      else bitmap.close();
    } catch (error) {
      refused(error);
    }
  }

  /** Say what is being done until the first picture of a place is there. */
  function waitFor() {
    clearTimeout(flow.waits);
    const start = Date.now();
    const poll = async () => {
      if (page.told || !flow.busy) return;
      try {
        const { what, share } = await api.at();
        const long = Date.now() - start > 15_000 ? "; the first time on a machine this takes a minute or two" : "";
        hears.waits(what ? `${what}${share > 0.02 ? `, ${Math.round(100 * share)} %` : ""}${long}` : "");
      } catch { /* the picture itself will say what is wrong */ }
      flow.waits = setTimeout(poll, 500);
    };
    flow.waits = setTimeout(poll, 300);
  }

  return { want, wantClean, still, rested, before, opened, shown, about: (one) => flow.judged.startsWith(JSON.stringify([judgedOf(one)]).slice(0, -1)), forget: () => { flow.judged = ""; } };
}

/** Run one at a time; while one runs only the newest wish is kept. Resolves when none is left. */
export function latest(work, fail) {
  let running = null, next = null;
  async function run() {
    while (next) {
      const { wanted } = next;
      next = null;
      try {
        await work(wanted);
      } catch (error) {
        fail(error);
      }
    }
    running = null;
  }
  return (wanted) => {
    next = { wanted };
    running ??= run();
    return running;
  };
}
