// One key, one action. While somebody types, only Escape, Enter and Ctrl with a key count; single keys can be switched off (WCAG 2.1.4).
import { $, el, fill } from "./parts.js";

const SWITCH = "debrief-single-keys";
let actions = [];

export const single = () => localStorage.getItem(SWITCH) !== "off";

/** given: [keys, name, what it does, group, action]; the first key is the one that the help shows. */
export function listen(given) {
  actions = given;
  document.addEventListener("keydown", pressed);
  const groups = [...new Set(given.map(item => item[3]))];
  fill($("help-keys"), groups.map(group => el("section", {}, el("h3", {}, group), el("dl", {}, given.filter(item => item[3] === group)
    .map(([, name, says]) => el("div", {}, el("dt", {}, name.split(" or ").flatMap((key, i) => [i ? " or " : null, el("kbd", {}, key)])), el("dd", {}, says)))))));
  $("single-keys").checked = single();
  $("single-keys").addEventListener("change", () => localStorage.setItem(SWITCH, $("single-keys").checked ? "on" : "off"));
}

const types = target => target.matches("input:not([type=checkbox]), select, textarea");

function pressed(event) {
  if (event.isComposing || event.metaKey || document.querySelector("dialog[open]")) return;
  const target = event.target, typing = types(target);
  if (event.key === "Escape" && typing) { target.blur(); document.querySelector("#list [aria-current]")?.focus({ preventScroll: true }); return; }
  if (event.ctrlKey && event.key === "Enter") { run(event, "Ctrl+Enter"); return; }
  if (typing || event.ctrlKey || event.altKey) return;
  const onControl = target.matches("button, summary, a, input");
  if ((event.key === "Enter" || event.key === " ") && onControl && !target.closest("#list")) return; // the control's own
  if (target.id === "wave-box" && slide(event)) return;
  if (!single() && event.key.length === 1 && event.key !== " ") return;
  run(event, event.key);
}

function run(event, key) {
  const found = actions.find(([keys]) => keys.includes(key));
  if (!found) return;
  event.preventDefault();
  found[4](event);
}

function slide(event) {
  const step = { ArrowLeft: -0.1, ArrowRight: 0.1, PageDown: 1, PageUp: -1 }[event.key];
  const end = { Home: -1e6, End: 1e6 }[event.key];
  if (!step && !end) return false;
  event.preventDefault();
  actions.find(([keys]) => keys.includes("slide"))[4](step || end);
  return true;
}
