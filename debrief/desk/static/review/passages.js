// Passages: rows whose sound runs together are played in one. The server says which; they are fetched a few rows ahead.
import { $ } from "./parts.js";
import { get } from "./ask.js";

const kept = new Map(); // number of a row -> promise of {clip, rows}
let shown = { clip: null, rows: [] };

export const wanted = () => $("passages").checked;

/** Fetches the passage of an entry before it is needed. */
export function ahead(entry) {
  if (entry.number === null || !entry.clip || entry.clip.searched) return Promise.resolve({ clip: entry.clip, rows: [] });
  if (!kept.has(entry.number)) {
    const made = get("passage", { number: entry.number });
    made.catch(() => kept.delete(entry.number));
    kept.set(entry.number, made);
    if (kept.size > 40) kept.delete(kept.keys().next().value);
  }
  return kept.get(entry.number);
}

/** What was decided makes other passages of what is left. */
export const forget = () => kept.clear();

/** The passage that plays from now on; rows of it count as lying in this sound. */
export const put = found => { shown = found; };

/** Whether a clip is the passage of more rows than one. */
export const runs = clip => Boolean(clip && shown.rows.length > 1 && shown.clip && clip.start === shown.clip.start && clip.end === shown.clip.end);

export const rows = () => shown.rows;

export function take(changed) {
  const found = new Map(changed.map(entry => [entry.key, entry]));
  shown = { ...shown, rows: shown.rows.map(entry => found.get(entry.key) || entry) };
}
