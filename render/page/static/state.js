// The shot at hand, everything that was done to it, and what a reload brings back.

const STORE = "hingeline-page-2";
const MOST_STEPS = 300;
const MOST_LEFT = 12;
const listeners = new Set();

export const empty = () => ({ picture: null, scene: null, name: "", values: {} });
export const state = { shot: empty(), past: [], future: [], pins: [], seen: {}, holding: null };

/** Every value that a shot can hold, by name, as the program declares it. */
export const keys = {};

export const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);
const copy = (shot) => structuredClone(shot);

export function listen(heard) {
  listeners.add(heard);
}

function tell(what) {
  for (const heard of listeners) heard(what);
  keep();
}

export const hooks = { turning: null };

/**
 * Values follow a film to another moment: nothing to undo. `still` keeps what they are where no
 * film is seen, until a hand turns them.
 */
export function put(values) {
  const { values: now, still, ring } = state.shot;
  const before = Object.fromEntries(Object.keys(values).map((name) => [name, now[name] ?? null]));
  state.shot = { ...state.shot, values: { ...now, ...values }, ring: ringOf(values), still: { ring, ...before, ...still } };
  keep();
}

/** A shot as it stands where no film is seen; the same one if none was. */
export function stilled(one) {
  if (!one.still) return one;
  const { still: { ring, ...before }, ...rest } = one, values = { ...one.values, ...before };
  for (const [name, value] of Object.entries(before)) if (value === null) delete values[name];
  return { ...rest, values, ring };
}

/** The film is put away: the lens is what it was before, but for what a hand has turned since. */
export function unseen() {
  if (!state.shot.still) return;
  state.shot = stilled(state.shot);
  tell("shot");
}

/** The lean that a focus by extension was found for: the program says so where the lens leans another way. */
function ringOf(changes) {
  const { ring, values: { focus, tilt, swing } } = state.shot;
  if ("focus" in changes) return undefined;
  return ring ?? (/^extension/i.test(focus) && ("tilt" in changes || "swing" in changes) ? { tilt, swing } : undefined);
}

/** Change values of the shot; null takes a value away. One undo step, with `more` of the shot, unless a hand is holding. */
export function turn(changes, more = {}) {
  hooks.turning?.();
  const values = { ...state.shot.values };
  for (const [name, value] of Object.entries(changes)) {
    if (!(name in keys)) throw new Error(`a shot knows no "${name}"`);
    if (value === null) delete values[name];
    else values[name] = value;
  }
  if (!("guessed" in changes) && values.guessed) {
    values.guessed = values.guessed.filter((name) => !(name in changes));
    if (!values.guessed.length) delete values.guessed;
  }
  const own = state.shot.own?.filter((name) => !(name in changes));
  const still = Object.entries(state.shot.still ?? {}).filter(([name]) => !(name in changes));
  replace({ ...state.shot, values, ring: ringOf(changes), ...(own && { own }), still: still.length > 1 ? Object.fromEntries(still) : undefined, ...more });
}

/** What is wished sharp or soft of this place, as one undo step; the lens stays. */
export function wish(wished) {
  hooks.turning?.();
  replace({ ...state.shot, wished });
}

/** Change values for a try: if the program refuses them, they are taken back as if never said. */
export function attempt(changes, more) {
  hooks.turning?.();
  const before = copy(state.shot);
  turn(changes, more);
  state.trying = same(before, state.shot) ? null : { before };
}

export function settle(refused) {
  const tried = state.trying;
  state.trying = null;
  if (!tried || !refused) return false;
  state.shot = tried.before;
  if (same(state.past.at(-1), tried.before)) state.past.pop();
  tell("shot");
  return true;
}

export function replace(shot) {
  if (same(shot, state.shot)) return;
  if (!state.holding) remember(state.shot);
  leave(shot);
  state.shot = copy(shot);
  tell("shot");
}

/** Some values by name, with one more as the last; of older ones only so many stay. */
export function withLast(values, name, value, most) {
  const { [name]: _, ...others } = values;
  return { ...Object.fromEntries(Object.entries(others).slice(1 - most)), [name]: value };
}

/** A place that is left for another stays as it is, for whoever goes back to it. */
function leave(next) {
  const { shot, seen: { film, left = {} } } = state;
  if (samePlace(next) || !(shot.picture || shot.scene)) return;
  state.trying = null;
  state.seen.left = withLast(left, placeOf(shot), { shot: copy(shot), film }, MOST_LEFT);
}

/** Go back to a place that was left, as it was; false where it never was open. */
export function back(place) {
  const found = state.seen.left?.[placeOf(place)];
  if (!found) return false;
  replace(found.shot);
  see({ film: found.film });
  return true;
}

export function hold() {
  hooks.turning?.();
  state.holding ??= copy(state.shot);
}

export function release() {
  const before = state.holding;
  state.holding = null;
  if (before && !same(before, state.shot)) remember(before);
  tell("rest");
}

function remember(shot) {
  if (!shot.picture && !shot.scene) return;
  state.past.push(copy(shot));
  if (state.past.length > MOST_STEPS) state.past.shift();
  state.future = [];
}

export function undo() {
  step(state.past, state.future);
}

/** Back to what was last shown, over all that was not since; else one step. */
export function undoUnshown() {
  const { past, shot, fits } = state;
  const at = same(shot, fits) ? -1 : past.findLastIndex((one) => same(one, fits));
  for (let steps = at < 0 ? 1 : past.length - at; steps > 0; steps -= 1) undo();
}

export function redo() {
  step(state.future, state.past);
}

function step(from, to) {
  if (!from.length || state.holding) return;
  state.trying = null;
  to.push(copy(state.shot));
  const next = from.pop();
  leave(next);
  state.shot = next;
  tell("shot");
}

/** The picture or scene of a shot, by one name. */
export const placeOf = ({ picture, scene }) => `${picture}/${scene}`;
export const samePlace = (one) => placeOf(one) === placeOf(state.shot);

/** The pinned shot on the left of the border: only one of the place at hand can stand there. */
export function against() {
  const one = state.pins[state.seen.against]?.shot;
  return one && samePlace(one) ? one : undefined;
}

export function pinned(pins) {
  state.pins = pins;
  tell("pins");
}

const GUESSED = {
  height: (value) => `height ${value}`,
  pitch: (value) => `pitch ${value}`,
  horizon: (value) => `horizon ${value} down`,
  "focal-35": (value) => `focal length ${value} mm (35 mm equivalent)`,
};

/** What is only guessed of the picture, as the program says with its answer: in words. */
export const guesses = (told) => Object.entries(told?.guessed ?? {}).map(([name, value]) => GUESSED[name](value));

/** Its owner says that what was guessed is right. */
export function confirmGuesses(told) {
  const { "focal-35": focal } = told.guessed;
  turn({ guessed: null, ...(focal && { "focal-35": focal }) });
}

export function see(changes) {
  Object.assign(state.seen, changes);
  tell("seen");
}

let waiting = 0;
function keep() {
  clearTimeout(waiting);
  waiting = setTimeout(keepNow, 150);
}

export function keepNow() {
  clearTimeout(waiting);
  const { shot, past, future, pins, seen } = state;
  for (const steps of [60, 10, 0]) {
    try {
      const text = JSON.stringify({ shot, past: past.slice(-steps || past.length), future: future.slice(-steps || future.length), pins, seen });
      for (const store of [sessionStorage, localStorage]) store.setItem(STORE, text);
      return;
    } catch { /* the browser's store is full or shut: keep less */ }
  }
}

/** What this tab kept (`own`), else what any tab did last, or null. */
export function kept() {
  try {
    const own = sessionStorage.getItem(STORE);
    const found = JSON.parse(own ?? localStorage.getItem(STORE));
    return found?.shot?.values ? { ...found, own: own !== null } : null;
  } catch {
    return null;
  }
}

export function bringBack(found) {
  state.shot = found.shot;
  state.past = Array.isArray(found.past) ? found.past : [];
  state.future = Array.isArray(found.future) ? found.future : [];
  state.pins = Array.isArray(found.pins) ? found.pins : [];
  Object.assign(state.seen, found.seen);
}

export function refresh() {
  tell("shot");
}

export function begin(one) {
  Object.assign(state, { shot: copy(one), past: [], future: [], holding: null });
  tell("rest");
}
