// Plain fields, made from what the program declares: a new option needs no new hand here.

import { button, make, selection, swap, textField } from "./dialog.js";
import { called, chooseFor } from "./open.js";

let count = 0;

/** A row for one declared value; `turned(words or null)` writes it, `follow(words)` shows it. */
export function fieldFor(key, turned, failed) {
  const row = make("div", "", "field");
  const id = `field-${key.name}-${++count}`;
  const label = make("label", key.label);
  label.htmlFor = id;
  row.append(label);
  if (key.help) row.title = key.help;
  const hand = { text, choice, flag, file, many }[key.kind](key, id, turned, failed);
  row.append(...hand.parts);
  row.dataset.name = key.name;
  return { row, key, follow: hand.follow };
}

function text(key, id, turned) {
  const input = textField({ id, placeholder: key.empty ?? "", maxLength: 200 });
  input.addEventListener("change", () => turned(input.value.trim() || null));
  return { parts: [input], follow: (value) => { if (document.activeElement !== input) input.value = value ?? ""; } };
}

function choice(key, id, turned) {
  const select = Object.assign(selection(key.choices), { id });
  select.addEventListener("change", () => turned(select.value || null));
  return {
    parts: [select],
    follow(value) {
      const wanted = value ?? "";
      if (![...select.options].some((one) => one.value === wanted)) select.append(new Option(wanted, wanted));
      select.value = wanted;
    },
  };
}

function flag(key, id, turned) {
  const box = Object.assign(document.createElement("input"), { type: "checkbox", id });
  box.addEventListener("change", () => turned(box.checked ? "true" : null));
  return { parts: [box], follow: (value) => { box.checked = value === "true"; } };
}

function file(key, id, turned, failed) {
  const press = button("Choose a file", () => {
    if (press.dataset.open) turned(null);
    else chooseFor("*/*", (found) => turned(found), failed);
  });
  press.id = id;
  const name = make("p", "", "hint");
  return {
    parts: [press, name],
    follow(value) {
      if (value) press.dataset.open = value;
      else delete press.dataset.open;
      press.textContent = value ? "Put it away" : "Choose a file";
      press.ariaLabel = `${key.label}: ${press.textContent}`;
      name.textContent = value ? called(value) : "";
      name.hidden = !value;
    },
  };
}

function many(key, id, turned) {
  const input = textField({ id, placeholder: "one at a time, then Enter", maxLength: 200 });
  const list = make("ul", "", "list");
  let values = [];
  input.addEventListener("change", () => {
    const words = input.value.trim();
    input.value = "";
    if (words) turned([...values, words]);
  });
  return {
    parts: [input, list],
    follow(given) {
      values = given ?? [];
      swap(list, ...values.map((words, at) => {
        const item = document.createElement("li");
        const away = button("Remove", () => turned(values.length > 1 ? values.filter((_, other) => other !== at) : null));
        away.ariaLabel = `Remove ${key.label} ${words}`;
        item.append(make("span", words), away);
        return item;
      }));
    },
  };
}

/** A part that folds, with a field for each of `keys`; shown where any of them can be used. */
export function fold(home, title, about, keys, turn, failed, open = false) {
  const section = Object.assign(document.createElement("details"), { className: "group", open });
  const head = make("summary", title);
  section.append(head);
  if (about) section.append(make("p", about, "hint"));
  const fields = keys.map((key) => fieldFor(key, (words) => turn({ [key.name]: words }), failed));
  section.append(...fields.map(({ row }) => row));
  home.append(section);
  return {
    section,
    follow(values) {
      let used = 0;
      for (const { key, follow } of fields) {
        follow(values[key.name]);
        if (key.name in values) used += 1;
      }
      head.dataset.used = used ? `${used} set` : "";
    },
  };
}
