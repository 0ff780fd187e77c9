// Where the camera stands and what the picture shows: height, horizon, depth, what took it.

import * as api from "./api.js";
import { button, inquire, make, swap } from "./dialog.js";
import { buildFinds } from "./finds.js";
import { Hands, PLACE_RINGS, WALK_RINGS, group, three } from "./hands.js";
import { fold } from "./settings.js";
import * as shot from "./state.js";
import { capital, headingKind, heightKind, short } from "./words.js";

const FOLDS = [
  ["map", "On the map", "Set them on the plan, or write them.", "map"],
  ["stand", "Horizon and lean", "", "photo"],
  ["scene", "Its moment", "People, vehicles and boats move on.", "scene"],
  ["ground", "The ground and its depth", "", "photo"],
  ["file", "A depth file", "As large as the picture: NPY, NPZ, PFM, EXR, 16-bit PNG, float TIFF, or a phone's picture with depth inside.", "photo"],
  ["second", "A second picture", "Taken a step to the side with the same lens.", "photo"],
  ["survey", "A survey", "LAS, LAZ, GeoTIFF or ASCII grid.", "photo"],
  ["network", "Your own depth network", "An ONNX file; its TOML file lies beside it.", "photo"],
  ["taken", "What took the picture", "Asked of the file; write it where the file does not know.", "photo"],
  ["more", "More", "", "photo"],
];

export function buildPlace(home, { depth, changed, fail, plan }) {
  const { turn } = shot;
  let now, at;
  const note = make("p", "", "hint");
  const noteAway = button("It is right as guessed", () => shot.confirmGuesses(now), "wide");
  home.append(note, noteAway);
  const stand = group(home, "Where you stand");
  const seePlan = button("Plan of the place", plan, "wide");
  stand.append(seePlan);
  const hands = new Hands(stand, PLACE_RINGS, (name, words) => turn(name === "pitch" ? { pitch: words, horizon: null } : { [name]: words }));
  const roof = button("Stand on the roof", () => shot.attempt({ height: "roof" }), "wide");
  const walk = make("div");
  stand.append(roof, walk);
  const walking = new Hands(walk, WALK_RINGS, (name, words) => turn(name === "heading" ? { heading: words, "look-at": null } : { [name]: words }));
  const dragHint = make("p", "", "hint");
  walk.append(dragHint);
  const proposed = make("ul", "", "told");
  const propose = button("Find the pitch from the picture's lines", look, "wide");
  stand.append(propose, proposed);
  const found = buildFinds(home, { changed, fail, picked: (name) => { if (name) depth("laid"); else if (shot.state.seen.depth === "laid") depth(false); changed(); } });
  const seeDepth = button("Show the depth", () => depth(shot.state.seen.depth !== true), "wide");
  const how = make("p", "", "hint");
  home.append(seeDepth, how);
  const folds = FOLDS.map(([name, title, about, kind]) => {
    const keys = Object.values(shot.keys).filter((key) => key.group === name);
    return { kind, keys, ...fold(home, title, about, keys, (changes) => shot.attempt(changes), (sentence) => fail(new api.Told(sentence))) };
  });

  async function look() {
    const told = await inquire(propose, proposed, "Looking for parallel lines", api.propose, fail);
    if (!told) return;
    const take = make("li");
    take.append(button("Take it", () => { turn({ horizon: null, ...told.values }); swap(proposed); }));
    swap(proposed, ...told.lines.map((line) => make("li", line)), take);
  }

  return {
    found,
    follow({ picture, scene, values }, told) {
      const kind = picture ? "photo" : told?.on_map || "at" in values ? "map" : "scene";
      const here = shot.placeOf({ picture, scene });
      if (at !== here) {
        at = here;
        swap(proposed);
        found.put();
      }
      hands.follow(values, told);
      walking.follow(values, told);
      found.follow(picture, values);
      for (const part of folds) {
        part.follow(values);
        part.section.hidden = part.kind !== kind && !(part.kind === "scene" && kind === "map");
        if (!part.keys.length) part.section.hidden = true;
      }
      walk.hidden = Boolean(picture);
      walking.rings.get("distance").element.hidden = kind !== "scene";
      dragHint.textContent = kind === "map"
        ? "Drag the picture: sideways turns the camera, up and down changes the height."
        : "Drag the picture: sideways walks round the subject, up and down changes the height. The wheel changes the distance.";
      propose.hidden = proposed.hidden = !picture;
      seePlan.hidden = roof.hidden = kind !== "map";
      seeDepth.textContent = shot.state.seen.depth === true ? "Show the picture" : "Show the depth";
      seeDepth.ariaPressed = shot.state.seen.depth === true;
      how.textContent = told ? `${capital(told.depth)}.` : "";
      now = told;
      const guessed = shot.guesses(told);
      note.textContent = guessed.length
        ? `Not known from the file and only guessed so far: ${guessed.join(", ")}. Put the height right, and drag the horizon to where level ground would end.`
        : "";
      note.hidden = noteAway.hidden = !note.textContent;
    },
    click: (at) => found.click(at),
    marks: () => found.marks(),
    redraw() {
      hands.redraw();
      walking.redraw();
    },
    /** A scene is walked round by dragging its picture, from where the shot now is. */
    walk(from, told) {
      const { values } = shot.state.shot;
      const start = { heading: headingKind.read(values.heading ?? "") ?? told.heading, height: heightKind.read(values.height ?? "") ?? told.height };
      return {
        begin: shot.hold,
        move({ free }) {
          turn({ "look-at": null, heading: headingKind.write(start.heading - 90 * (free.x - from.x)), height: heightKind.write(three(Math.max(0.5, start.height * 2 ** (2 * (free.y - from.y))))) });
        },
        end: shot.release,
      };
    },
    stride(by, told) {
      if (told.distance === null) return; // on a map the camera stands where it was put
      const now = heightKind.read(shot.state.shot.values.distance ?? "") ?? told.distance;
      turn({ distance: heightKind.write(three(Math.min(1000, Math.max(1, now * 1.06 ** by)))) });
    },
    /** A thing is drawn, or the horizon taken hold of, wherever it is. */
    grip(at, reach, size, told, room) {
      const drawn = found.grip(at);
      if (drawn) return drawn;
      if (told.horizon === null) return null;
      const shown = Math.max(-room + 0.01, Math.min(1, told.horizon));
      if (Math.abs(at.free.y - shown) * size.height > reach + (told.horizon < 0 ? 12 : 0)) return null;
      return {
        begin: shot.hold,
        move: ({ free }) => turn({ horizon: `${short(100 * Math.max(-3, Math.min(1.5, shown === told.horizon ? free.y : told.horizon + free.y - shown)), 1)}%`, pitch: null }),
        end: shot.release,
      };
    },
  };
}

