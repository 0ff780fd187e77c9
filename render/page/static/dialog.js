// One dialog for everything that asks for room of its own.

import { samePlace, state } from "./state.js";

const dialog = document.getElementById("dialog");

/** Open the dialog with a title; returns its body and a way to close it. */
export function openDialog(title, wide = false) {
  dialog.className = wide ? "wide" : "";
  dialog.replaceChildren();
  const inner = document.createElement("div");
  inner.className = "inner";
  inner.innerHTML = `<div class="top"><h2 id="dialog-title"></h2><button type="button">Close</button></div><div class="body"></div>`;
  inner.querySelector("h2").textContent = title;
  inner.querySelector("button").addEventListener("click", () => dialog.close());
  dialog.append(inner);
  dialog.showModal();
  return { body: inner.querySelector(".body"), close: () => dialog.close() };
}

dialog.addEventListener("click", (event) => {
  if (event.target === dialog) dialog.close();
});

/** Put other children in; who held the focus keeps it, or it goes to the nearest that can. */
export function swap(home, ...children) {
  const held = home.contains(document.activeElement) ? document.activeElement : null;
  const all = () => [...home.querySelectorAll("button, input, select, textarea, a, summary, [tabindex]")].filter((one) => !one.disabled);
  const at = held ? all().indexOf(held) : -1, name = held?.dataset.key;
  home.replaceChildren(...children);
  if (!held) return;
  const now = all();
  const next = (name && now.find((one) => one.dataset.key === name)) ?? now[Math.min(at, now.length - 1)] ?? home;
  if (next === home) home.tabIndex = -1;
  next.focus({ preventScroll: true });
}

/** Ask for something of the place at hand while `press` waits; null once another is open, or refused. */
export async function inquire(press, answer, words, question, fail) {
  const { shot: asked } = state;
  press.disabled = true;
  swap(answer, make("li", words));
  try {
    const found = await question(asked);
    return samePlace(asked) ? found : null;
  } catch (error) {
    if (samePlace(asked)) {
      swap(answer);
      fail(error);
    }
    return null;
  } finally {
    press.disabled = false;
  }
}

export function make(tag, text = "", className = "") {
  const element = document.createElement(tag);
  element.textContent = text;
  if (className) element.className = className;
  return element;
}

export function button(text, pressed, className = "") {
  const element = make("button", text, className);
  element.type = "button";
  element.addEventListener("click", pressed);
  return element;
}

export function selection(options) {
  const select = document.createElement("select");
  for (const [value, words] of options) select.append(new Option(words, value));
  return select;
}

export const textField = (more) => Object.assign(document.createElement("input"), { type: "text", autocomplete: "off", spellcheck: false, maxLength: 120, ...more });

/** Ask for a few words; each field is `{ name, label, options?, value?, empty? }`. */
export function ask(title, fields, set, done) {
  const { body, close } = openDialog(title);
  const form = document.createElement("form");
  const inputs = fields.map(({ name, label, options, value = "", empty = "" }) => {
    const row = make("div", "", "field");
    const input = options ? selection(options) : textField({ placeholder: empty });
    input.value = value;
    input.id = `ask-${name}`;
    const words = Object.assign(make("label", label), { htmlFor: input.id });
    row.append(words, input);
    form.append(row);
    return [name, input];
  });
  const fault = make("p", "", "fault");
  fault.role = "alert";
  const press = make("button", set, "strong wide");
  press.type = "submit";
  form.append(fault, press);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const wrong = done(Object.fromEntries(inputs.map(([name, input]) => [name, input.value.trim()])));
    fault.textContent = wrong || "";
    if (!wrong) close();
  });
  body.append(form);
  inputs[0][1].focus();
}
