// The row at hand: what it says, why it should be looked at, its fields to be changed, its evidence and its history.
import { $, el, fill, local, say } from "./parts.js";

const ORIGINS = { spoken: "spoken", carried: "carried from before", plan: "from the plan", assumed: "assumed, not spoken", person: "by a person", "": "empty" };
let typed = new Map(); // field name -> text that differs from the row
const drafts = new Map(); // key of an entry that was left -> what was typed there and not saved
let shown = null, onUse = () => {}, onUndo = () => {};

export const listen = (use, undo) => { onUse = use; onUndo = undo; };
export const changed = () => values(typed);

/** Typed texts by field; a new entry of a map is typed as name=value and becomes map.name. */
export const values = entries => Object.fromEntries([...entries].map(([name, text]) => {
  if (!name.endsWith(".")) return [name, text];
  const [entry, ...rest] = text.split("=");
  return [name + entry.trim(), rest.join("=").trim()];
}));
export const isTyping = () => typed.size > 0;
export const hasDraft = key => drafts.has(key);
export const unsaved = () => typed.size + drafts.size > 0;
export const current = () => shown;

/** Puts away what is typed when a row is left, and brings it back when it is shown again; gives the keys whose lines look different then. */
export function leave(next) {
  if (!shown || shown.key === next?.key) return [];
  const changed = [shown.key];
  if (typed.size) drafts.set(shown.key, typed); else drafts.delete(shown.key);
  typed = drafts.get(next?.key) || new Map();
  if (next && drafts.delete(next.key)) changed.push(next.key);
  return changed;
}

/** Shows an entry. keep: texts that were typed stay in their fields. */
export function show(entry, { keep = false } = {}) {
  if (!keep) typed = new Map();
  shown = entry;
  same(null);
  $("row-part").classList.toggle("nothing", !entry);
  $("row-title").textContent = entry ? (entry.number === null ? `${entry.title}, ${entry.time}` : `Row ${entry.number} · ${entry.title}`) : "Nothing to show";
  $("row-text").textContent = entry ? entry.text : "";
  if (!entry) return;
  const who = [entry.time, entry.station, entry.loop && `on ${entry.loop}`].filter(Boolean).join(" · ");
  $("row-by").textContent = who;
  const state = entry.state === "standing" ? entry.certainty || "nobody has heard this yet" : entry.state;
  fill($("row-state"), el("span", { "aria-hidden": "true" }, entry.state === "standing" ? entry.sign : "✕"), ` ${state}`, entry.edited ? " · changed by a person" : "");
  $("row-state").className = entry.state !== "standing" ? "out" : entry.certainty === "doubtful" ? "doubtful" : "";
  const reasons = [...entry.look.map(text => ["look", text]), ...(entry.mark ? [["edit", entry.mark]] : []), ...entry.doubt.map(text => ["doubt", text]),
    ...entry.fields.filter(field => field.why.length).map(field => [field.name, field.why.join("; ")])];
  fill($("reasons"), reasons.map(([name, text]) => el("li", { class: name === "look" ? "look" : null }, el("b", {}, `${name.replaceAll("_", " ")}: `), text)));
  $("reasons").hidden = reasons.length === 0;
  fields(entry);
  actions(entry);
  fill($("evidence"), entry.evidence.map(part => el("li", {}, el("b", {}, `${part.role}: `), part.text || "no words", part.time && el("span", { class: "time" }, ` ${part.time}`))),
    entry.witnesses.map(item => el("li", { class: "witness" }, item)));
  $("more").hidden = entry.evidence.length === 0;
  fill($("history"));
  $("past").hidden = true;
  $("conflict").hidden = true;
}

function actions(entry) {
  const row = entry.number !== null, standing = entry.state === "standing";
  $("accept-says").textContent = row ? "Right" : "Heard, nothing here";
  $("accept").disabled = !standing;
  for (const name of ["reject", "split", "tick"]) $(name).disabled = !row || !standing;
}

function fields(entry) {
  const told = field => field.value !== "" && !(field.type === "flag" && field.value === "no" && field.certainty !== "doubtful"); // what is not so tells little
  const filled = entry.fields.filter(field => told(field) || typed.has(field.name));
  const empty = entry.fields.filter(field => !filled.includes(field));
  fill($("fields"), filled.map(input));
  fill($("empty-fields"), empty.map(input));
  for (const name of typed.keys()) document.getElementById(`field-${name}`)?.classList.add("changed");
  $("empties").hidden = empty.length === 0;
  $("fields-part").hidden = entry.number === null || entry.state !== "standing";
  buttons();
}

export function input(field, prefix = "field-") {
  prefix = typeof prefix === "string" ? prefix : "field-";
  const id = `${prefix}${field.name}`, note = `${id}-note`;
  const value = prefix === "field-" ? typed.get(field.name) ?? field.value : field.value;
  const sure = field.value === "" ? "" : [ORIGINS[field.origin] || field.origin, field.certainty].filter(Boolean).join(", ");
  const common = { id, name: field.name, "aria-describedby": note, "data-was": field.value };
  const made = field.type === "flag"
    ? el("select", common, ["", "yes", "no"].map(text => el("option", { value: text, selected: text === value }, text || "not said")))
    : el("input", { ...common, type: "text", value, autocomplete: "off", spellcheck: "false", maxlength: "2000", inputmode: field.type === "number" || field.type === "seconds" ? "decimal" : null });
  made.value = value;
  const label = field.type === "entry" ? `${field.name.slice(0, -1)}: a new one, as name=value` : field.name.replaceAll("_", " ").replace(".", ": ");
  return el("div", { class: `field${field.certainty === "doubtful" ? " doubtful" : ""}` }, el("label", { for: id }, label), made,
    el("p", { id: note, class: "note" }, field.certainty === "doubtful" ? "? " : "", sure,
      prefix === "field-" && field.others.length > 0 && field.others.map(other => el("button", { type: "button", class: "link other", onclick: () => { made.value = other; made.dispatchEvent(new Event("input", { bubbles: true })); made.focus(); } }, `or ${other}`))));
}

function buttons() {
  $("save").disabled = typed.size === 0;
  $("revert").disabled = typed.size === 0;
  $("save").textContent = typed.size > 1 ? `Save ${typed.size} changes` : "Save change";
}

$("fields-part").addEventListener("input", event => {
  const field = event.target;
  if (!field.name) return;
  if (field.value.trim() === field.dataset.was) typed.delete(field.name); else typed.set(field.name, field.value);
  field.classList.toggle("changed", typed.has(field.name));
  field.removeAttribute("aria-invalid");
  buttons();
});

/** Takes another reading of the row into its field: the first, and at each further press the next; in the end what stands. */
export function other() {
  if (!shown || $("fields-part").hidden) return;
  const all = shown.fields.flatMap(field => field.others.map(text => ({ name: field.name, text })));
  if (!all.length) { say("This row has no other reading. e goes to its fields."); return; }
  const at = all.findIndex(({ name, text }) => typed.get(name) === text), next = all[at + 1];
  if (at >= 0) typed.delete(all[at].name);
  if (next) typed.set(next.name, next.text);
  fields(shown);
  say(next ? `${next.name.replaceAll("_", " ")} ${next.text}, not saved: a saves it, x goes on.` : "As it was.");
}

export function revert() { typed = new Map(); if (shown) fields(shown); $("conflict").hidden = true; }

export function refuse(text) {
  const name = [...typed.keys()].find(item => text.startsWith(item)) || [...typed.keys()][0];
  const field = name && document.getElementById(`field-${name}`);
  if (field) { field.setAttribute("aria-invalid", "true"); field.focus(); }
}

/** Puts the cursor into the field that matters most. */
export function edit() {
  if (!shown || $("fields-part").hidden) return false;
  const order = ["value", "value_text", "answer", "state", "what", "text", "event", "match"];
  const all = [...$("fields").querySelectorAll("input, select")];
  const first = order.map(name => all.find(item => item.name === name)).find(Boolean) || all[0];
  if (!first) { $("empties").open = true; $("empty-fields").querySelector("input, select")?.focus(); return true; }
  first.focus();
  first.select?.();
  return true;
}

/** Says what changed under the person's hands: the row as seen against the row as it stands. */
export function conflict(seen, now, mine) {
  const was = new Map((seen ? seen.fields : []).map(field => [field.name, field.value]));
  const differs = now.fields.filter(field => (was.get(field.name) ?? "") !== field.value);
  const deed = (now.deeds || []).find(item => !item.undone) || (now.deeds || [])[0];
  const lines = differs.map(field => el("li", {}, `${field.name.replaceAll("_", " ")}: ${was.get(field.name) || "empty"} → ${field.value || "empty"}`));
  if (seen && seen.state !== now.state) lines.push(el("li", {}, `the row is now ${now.state}`));
  if (seen && seen.certainty !== now.certainty) lines.push(el("li", {}, `${seen.certainty} → ${now.certainty}`));
  fill($("conflict"), el("p", {}, el("strong", {}, "Changed since you looked. "), deed ? `${deed.who} at ${local(deed.at_utc)}${deed.undone ? ", then taken back" : ""}: ${deed.action}. ` : "", "Your edit was not written."),
    lines.length > 0 && el("ul", {}, lines),
    mine && Object.keys(mine).length > 0 && el("p", {}, "You had typed: ", Object.entries(mine).map(([name, text]) => `${name.replaceAll("_", " ")} ${text}`).join(", "), ". ",
      el("button", { type: "button", onclick: () => onUse(mine) }, "Put mine into the fields")));
  $("conflict").hidden = false;
}

let named = null; // {field, was, value, after, rows}: other rows of the name that this row had

/** Offers to give a new name to the other rows that have the old one; null takes the offer away. */
export function same(found) {
  named = found || null;
  $("same-part").hidden = !named;
  if (!named) return;
  $("same-says").textContent = `${named.field.replaceAll("_", " ")} ${named.was} becomes ${named.value}:`;
  fill($("same"), named.rows.map(item => el("li", {}, el("label", {}, el("input", { type: "checkbox", id: `same-${item.key}`, checked: true }), ` row ${item.number}, ${item.time} · ${item.text}`))));
}

export const sameName = () => named;

export function use(mine) {
  typed = new Map(Object.entries(mine).filter(([name, text]) => shown.fields.find(field => field.name === name)?.value !== text));
  fields(shown);
  $("conflict").hidden = true;
  edit();
}

export function history(entry) {
  const deeds = entry.deeds || [];
  fill($("history"), deeds.map(deed => el("li", { class: deed.undone ? "undone" : null }, `${deed.action} by ${deed.who}, ${local(deed.at_utc)}`, deed.undone && " · taken back", deed.note && ` · ${deed.note}`, " ",
    !deed.undone && el("button", { type: "button", class: "link", onclick: () => onUndo(deed.deed) }, "take back"))));
  const machine = (entry.machine || []).filter(field => field.value !== (entry.fields.find(item => item.name === field.name)?.value ?? ""));
  fill($("machine"), machine.length > 0 && ["The machine had read: ", machine.map(field => `${field.name.replaceAll("_", " ")} ${field.value || "nothing"}`).join(", ")]);
  $("past").hidden = deeds.length === 0;
}
