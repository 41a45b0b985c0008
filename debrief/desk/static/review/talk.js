// The transcript in step with the sound: the turns around the row at hand, the word that plays, and the rows each turn gave.
import { $, el, fill } from "./parts.js";
import { get } from "./ask.js";

const kept = new Map();
let onTurn = () => {}, onRow = () => {}, latest = 0, shown = null;

export const listen = (turn, row) => { onTurn = turn; onRow = row; };

function place(entry) {
  if (entry.turn !== null && entry.turn !== undefined) return { turn: entry.turn };
  if (!entry.clip) return null;
  const half = Math.round((entry.clip.start + entry.clip.end) / 2);
  return { recording: entry.clip.recording, channel: entry.clip.channel, start: half };
}

/** Fetches the talk around an entry before it is needed. */
export function ahead(entry) {
  const where = place(entry);
  if (!where) return Promise.resolve({ turn: null, turns: [] });
  const key = JSON.stringify(where);
  if (!kept.has(key)) {
    const made = get("talk", where);
    made.catch(() => kept.delete(key));
    kept.set(key, made);
    if (kept.size > 40) kept.delete(kept.keys().next().value);
  }
  return kept.get(key);
}

export const forget = () => kept.clear();

/** Shows the talk around an entry; gives the words that lie in its clip. */
export async function show(entry, clip = entry.clip) {
  const mine = ++latest;
  const found = await ahead(entry);
  if (mine !== latest) return null;
  shown = found;
  fill($("talk"), found.turns.map(turn => drawn(turn, found.turn, entry)));
  $("no-talk").hidden = found.turns.length > 0;
  const middle = $(`turn-${found.turn}`);
  if (middle) $("talk").scrollTop = middle.offsetTop - $("talk").clientHeight / 3;
  return wordsIn(clip, entry);
}

export function wordsIn(clip, entry) {
  if (!clip || !shown) return [];
  const value = entry.evidence[0] && entry.evidence[0].span;
  return shown.turns.filter(turn => turn.clip && turn.clip.recording === clip.recording && turn.clip.channel === clip.channel)
    .flatMap(turn => turn.words).filter(word => word.start !== null && word.end > clip.start && word.start < clip.end)
    .map(word => ({ ...word, value: Boolean(value && word.start < value.end && word.end > value.start) }));
}

/** The word that plays. */
export function point(word) {
  for (const old of $("talk").querySelectorAll(".now")) old.classList.remove("now");
  if (word) $("talk").querySelector(`[data-start="${Number(word.start)}"]`)?.classList.add("now");
}

function drawn(turn, middle, entry) {
  const here = turn.turn === middle;
  const speaker = turn.station || (turn.loop ? `${turn.loop} loop` : "not known who");
  return el("li", { id: `turn-${turn.turn}`, class: [here && "here", (turn.commentary || turn.set_aside) && "aside"].filter(Boolean).join(" ") || null, "aria-current": here ? "true" : null },
    el("p", { class: "who" }, turn.clip ? el("button", { type: "button", class: "small", "aria-label": `Play ${speaker}, ${turn.time}`, onclick: () => onTurn(turn) }, "▶") : null,
      el("span", { class: "time" }, turn.time), " ", el("strong", {}, speaker), turn.loop ? ` on ${turn.loop}` : "",
      turn.commentary && " · to the public", turn.set_aside && ` · ${turn.set_aside}`),
    el("p", { class: "words" }, turn.words.flatMap(word => [el("span", { class: word.heard ? "mended" : null, "data-start": word.start ?? null, title: word.heard ? `heard as “${word.heard}”` : null }, word.text), " "])),
    turn.rows.length > 0 && el("p", { class: "rows-of" }, turn.rows.map(number => el("button", { type: "button", class: "link", "aria-current": entry.number === number ? "true" : null, onclick: () => onRow(number) }, `row ${number}`))));
}
