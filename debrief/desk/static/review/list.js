// The list at the left: one page of entries at a time, in the order of the listening list or of time, filtered on the server.
import { $, el, fill, plural, say } from "./parts.js";
import { get } from "./ask.js";
import { hasDraft } from "./row.js";

const PAGE = 60;
let entries = [], total = 0, before = 0, chosen = null;
const ticked = new Map(); // key -> entry
let onChoose = () => {};
let latest = 0;

export const listen = listener => { onChoose = listener; };
export const selected = () => entries.find(entry => entry.key === chosen) || null;
export const next = count => { const at = place(); return entries.slice(at + 1, at + 1 + count); };
export const others = () => entries.filter(entry => entry.key !== chosen);
export const holds = key => entries.some(entry => entry.key === key);
export const tickedRows = () => [...ticked.values()];
const place = () => entries.findIndex(entry => entry.key === chosen);
export const done = entry => entry.state === "rejected" || entry.certainty === "heard by a person";

/** What the filter's form says. */
export function filter() {
  const form = new FormData($("filter"));
  const time = name => {
    const text = (form.get(name) || "").trim();
    const seconds = text.split(":").reduce((sum, part) => sum * 60 + Number(part), 0);
    if (Number.isNaN(seconds)) say(`${text} is no time: write h:mm:ss.`, true);
    return text && !Number.isNaN(seconds) ? seconds : "";
  };
  const found = { shown: form.get("shown"), order: form.get("order"), words: form.get("words").trim(), from_s: time("from"), to_s: time("to") };
  for (const name of ["kind", "loop", "station", "certainty", "why"]) found[name] = form.get(name) || "";
  return found;
}

/** The question alone: the very first is on its way before the page knows what it is about. */
export const ask = (where = {}) => get("rows", { ...filter(), ...where, limit: PAGE });

/** Asks for a page: {} the first, {after: key}, {before: key}, {around: key}. choose: which entry of it to take: a key, "first", "last". */
export async function load(where = {}, choose = "first", play = false, answering = null) {
  const mine = ++latest;
  $("back").disabled = $("forth").disabled = true; // what they go on from is about to change
  $("list").setAttribute("aria-busy", "true");
  const answer = await (answering || ask(where)).catch(error => { if (mine === latest) turnable(); throw error; });
  if (mine !== latest) return false;
  ({ entries, total, before } = answer);
  draw();
  const wanted = choose === "first" ? entries[0] : choose === "last" ? entries.at(-1) : entries.find(entry => entry.key === choose) || entries[0];
  pick(wanted ? wanted.key : null, { play });
  return true;
}

/** The same entries as they stand now; none moves, so that a list that somebody works through stays in its place. */
export async function renew() {
  if (!entries.length) return;
  const answer = await get("rows", { shown: "all", keys: entries.map(entry => entry.key) });
  const found = new Map(answer.entries.map(entry => [entry.key, entry]));
  take(entries.map(entry => found.get(entry.key) || { ...entry, state: "gone" }));
}

/** Puts changed entries in the place of the old ones. */
export function take(changed) {
  const found = new Map(changed.map(entry => [entry.key, entry]));
  const moved = entries.filter(entry => found.has(entry.key) && JSON.stringify(found.get(entry.key)) !== JSON.stringify(entry)).map(entry => entry.key);
  entries = entries.map(entry => found.get(entry.key) || entry);
  for (const [key, entry] of found) if (ticked.has(key)) ticked.set(key, entry);
  for (const key of moved) redraw(key);
}

/** Draws one line anew; the cursor stays on it. */
export function redraw(key) {
  const line = $(`entry-${key}`), entry = entries.find(item => item.key === key);
  if (!line || !entry) return;
  const held = line.contains(document.activeElement), fresh = drawn(entry);
  line.replaceWith(fresh);
  if (held) fresh.querySelector("a").focus({ preventScroll: true });
}

/** New entries behind the one at hand. */
export function insert(fresh) {
  const at = place();
  entries.splice(at + 1, 0, ...fresh.filter(entry => !entries.some(known => known.key === entry.key)));
  draw();
}

export function pick(key, { play = false, focus = false } = {}) {
  chosen = key;
  for (const line of $("list").children) {
    const here = line.id === `entry-${key}`;
    const link = line.querySelector("a");
    link.tabIndex = here ? 0 : -1;
    if (here) link.setAttribute("aria-current", "true"); else link.removeAttribute("aria-current");
    if (here) { line.scrollIntoView({ block: "nearest" }); if (focus) link.focus({ preventScroll: true }); }
  }
  onChoose(selected(), play);
}

/** One step on or back; over the page's edge the next page is loaded. */
export async function step(by, { play = true, focus = true, open = false, quiet = () => false } = {}) {
  let at = place() + by;
  while (open && at >= 0 && at < entries.length && done(entries[at])) at += by;
  if (at >= 0 && at < entries.length) { pick(entries[at].key, { play: play && !quiet(entries[at]), focus }); return; }
  if (by > 0 && before + entries.length < total) { await load({ after: entries.at(-1).key }, "first", play); return; }
  if (by < 0 && before > 0 && entries.length) { await load({ before: entries[0].key }, "last", play); return; }
  say(by > 0 ? "That was the last of the list." : "That is the first of the list.");
}

export async function find(key, play = true) {
  if (entries.some(entry => entry.key === key)) { pick(key, { play, focus: true }); return; }
  await load({ around: key }, key, false);
  if (chosen === key) { pick(key, { play, focus: true }); return; }
  clear();
  $("filter").elements.shown.value = "all";
  await load({ around: key }, key, play);
  say("The filter did not let this row through; it is cleared.");
}

export function clear() {
  const form = $("filter");
  for (const name of ["kind", "loop", "station", "certainty", "why", "words", "from", "to"]) form.elements[name].value = "";
}

export function tick() {
  const entry = selected();
  if (!entry || entry.number === null) return;
  if (ticked.has(entry.key)) ticked.delete(entry.key); else ticked.set(entry.key, entry);
  redraw(entry.key);
  say(ticked.size ? `${plural(ticked.size, "row")} ticked. m makes one row of them, the first ticked stays.` : "No row is ticked.");
}

export function untick() {
  const keys = [...ticked.keys()];
  ticked.clear();
  keys.forEach(redraw);
}

function drawn(entry) {
  const here = entry.key === chosen;
  const who = [entry.station, entry.loop && `on ${entry.loop}`].filter(Boolean).join(" ");
  const state = entry.state === "standing" ? entry.certainty || "not heard yet" : entry.state;
  const sign = entry.state === "standing" ? entry.sign : "✕";
  const why = [...entry.look, entry.mark].filter(Boolean).join("; ");
  return el("li", { id: `entry-${entry.key}`, class: [done(entry) && "done", entry.state !== "standing" && "out", entry.certainty === "doubtful" && "doubtful"].filter(Boolean).join(" ") || null },
    el("a", { href: `#${entry.key}`, tabindex: here ? 0 : -1, "aria-current": here ? "true" : null,
      onclick: event => { event.preventDefault(); pick(entry.key, { play: true, focus: true }); } },
      el("span", { class: "head" }, el("span", { class: "time" }, entry.time), " ", el("span", { class: "kind" }, entry.title), " ",
        ticked.has(entry.key) && el("span", { class: "tick" }, "ticked "), hasDraft(entry.key) && el("span", { class: "tick" }, "typed, not saved "), entry.number !== null && el("span", { class: "number" }, `row ${entry.number}`)),
      el("span", { class: "says" }, entry.text), " ",
      el("span", { class: "state" }, el("span", { "aria-hidden": "true" }, sign), ` ${state}`, who && el("span", { class: "by" }, ` · ${who}`)),
      why && el("span", { class: "look" }, ` look: ${why}`)));
}

function draw() {
  fill($("list"), entries.map(drawn));
  $("empty").hidden = entries.length > 0;
  $("where").textContent = entries.length ? `${(before + 1).toLocaleString("en")}–${(before + entries.length).toLocaleString("en")} of ${total.toLocaleString("en")}` : "";
  turnable();
}

/** No answer is awaited any more: the list stands, and what lies before and behind it can be asked for. */
function turnable() {
  $("list").setAttribute("aria-busy", "false");
  $("back").disabled = before === 0;
  $("forth").disabled = before + entries.length >= total;
}

$("back").addEventListener("click", () => load({ before: entries[0].key }, "first"));
$("forth").addEventListener("click", () => load({ after: entries.at(-1).key }, "first"));
