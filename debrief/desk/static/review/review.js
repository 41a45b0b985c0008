// The review page: puts its parts together, and keeps them in step with what others do on the same store.
import { $, el, fill, local, plural, say } from "./parts.js";
import * as ask from "./ask.js";
import * as deeds from "./deeds.js";
import * as keys from "./keys.js";
import * as list from "./list.js";
import * as passages from "./passages.js";
import * as row from "./row.js";
import * as sound from "./sound.js";
import * as talk from "./talk.js";

const POLL_MS = 1000, HIDDEN_MS = 10000, AHEAD = 3;
let token = "", about = null, clip = null;

/** A row was chosen: its sound, its fields, its talk; and what comes next is fetched. */
async function choose(entry, play) {
  const left = row.leave(entry);
  row.show(entry, { keep: true });
  left.forEach(list.redraw);
  if (row.isTyping() && left.length) say("What you typed here before is still in the fields, not saved.");
  if (!entry) { clip = null; sound.show(null, { why: "" }); return; }
  if (!await sounding(entry, play)) return;
  neighbours();
  $("searched").hidden = !(clip && clip.searched);
  fetchAhead();
  const words = await talk.show(entry, clip);
  if (words && list.selected()?.key === entry.key) sound.words(words);
  if (entry.edited) past(entry);
}

/** Puts the sound of an entry on the desk: the passage it lies in while its words are still to be heard, else its own; false when it was left meanwhile. */
async function sounding(entry, play) {
  const evidence = around => entry.evidence.map(part => part.span).filter(span => span && around && span.recording === around.recording && span.channel === around.channel);
  if (passages.wanted() && passages.runs(sound.current()) && sound.holds(entry.clip)) {
    clip = sound.current();
    sound.stay(evidence(clip), play && !sound.playing() ? entry.clip.start : null);
    return true;
  }
  const whole = passages.wanted() && entry.number !== null && !list.done(entry) && !sound.played(entry.clip);
  if (whole) sound.awaits();
  const found = whole ? await passages.ahead(entry).catch(() => null) : null;
  if (list.selected()?.key !== entry.key) return false;
  passages.put(found && found.clip ? found : { clip: entry.clip, rows: [] });
  clip = found && found.clip ? found.clip : entry.clip;
  sound.show(clip, { why: missing(entry), evidence: evidence(clip), play });
  return true;
}

function fetchAhead() {
  for (const item of list.next(AHEAD)) {
    if (item.clip) (passages.wanted() ? passages.ahead(item).then(found => sound.ahead(found.clip || item.clip)) : sound.ahead(item.clip))?.catch(() => {});
    talk.ahead(item).catch(() => {});
  }
}

/** Passages on or off: the row at hand is put on the desk anew. */
function alone() {
  passages.put({ clip: null, rows: [] });
  const entry = list.selected();
  if (entry) choose(entry, sound.playing());
}

/** The rows that lie in the sound at hand, so that one playing settles them all. */
function neighbours() {
  const found = list.selected()?.number === null ? [] : deeds.together();
  fill($("together"), found.map((item, i) => el("li", { "data-key": item.key }, i < 9 && el("kbd", { "aria-hidden": "true" }, String(i + 1)), " ", el("button", { type: "button", class: "link", onclick: () => list.find(item.key) }, `row ${item.number}`),
    ` ${item.text} `, el("span", { class: item.certainty === "doubtful" ? "state doubtful" : "state" }, el("span", { "aria-hidden": "true" }, item.sign), ` ${item.certainty}`))));
  $("together-part").hidden = found.length === 0;
}

async function past(entry) {
  const found = await ask.get(`rows/${entry.number}`);
  if (list.selected()?.key === entry.key) row.history(found);
}

function missing(entry) {
  const gone = about.recordings.filter(item => item.missing).map(item => item.missing);
  if (!about.recordings.length) return "This session has no recording: it was read from a transcript.";
  return entry.evidence.length && !entry.evidence[0].span ? "No place in the sound is known for this row." : gone.join(" ") || "No place in the sound is known here.";
}

/** More sound before or after, up to a minute. */
function widen(before, after) {
  if (!clip) return;
  const second = sound.RATE, recording = about.recordings.find(item => item.recording === clip.recording);
  const start = Math.max(0, clip.start - before * second), end = Math.min(recording ? recording.duration : clip.end, clip.end + after * second);
  if (end - start > 60 * second) { say("At most a minute is played at once."); return; }
  clip = { ...clip, start, end };
  const entry = list.selected();
  sound.show(clip, { evidence: entry.evidence.map(part => part.span).filter(span => span && span.recording === clip.recording && span.channel === clip.channel), play: true })
    .then(() => sound.words(talk.wordsIn(clip, entry)));
  neighbours();
  say(`${((end - start) / second).toFixed(0)} s of sound.`);
}

function playTurn(turn) {
  const entry = list.selected();
  clip = turn.clip;
  sound.show(clip, { play: true }).then(() => sound.words(talk.wordsIn(clip, entry)));
  neighbours();
  say("This turn plays; the row at hand stays. Choose it again to hear it.");
}

// how far the work is

function standing(found) {
  const { rows, heard, rejected, places, places_heard: placesHeard } = found.counts;
  $("progress").max = Math.max(1, rows);
  $("progress").value = heard;
  $("counts").textContent = `${heard.toLocaleString("en")} of ${plural(rows, "row")} heard by a person` +
    (rejected ? `, ${rejected} rejected` : "") + (places ? ` · ${placesHeard} of ${plural(places, "place")} without a row heard` : "");
  const seal = found.seal;
  $("seal").className = seal && seal.broken ? "broken" : "";
  $("seal").textContent = !seal ? "Not signed" : `${seal.broken ? "⚠ Seal broken: changed since it was signed" : "✓ Signed"} by ${seal.who}, ${local(seal.at_utc)}; ` +
    `heard by a person ${seal.heard}, not ${seal.not_heard}`;
  fill($("last"), found.last.map(deed => el("li", {}, `${local(deed.at_utc)} ${deed.who}: ${deed.action} `,
    el("button", { type: "button", class: "link", onclick: () => list.find(`r${deed.number}`) }, `row ${deed.number}`), deed.undone ? " · taken back" : "")));
}

function choices(found) {
  const titles = new Map(found.kinds.map(kind => [kind.kind, kind.title]));
  for (const [name, items] of Object.entries(found.choices)) {
    const select = $("filter").elements[name], chosen = select.value;
    fill(select, el("option", { value: "" }, "all"), items.map(item => el("option", { value: item.name, selected: item.name === chosen }, `${titles.get(item.name) || item.name} (${item.count})`)));
  }
  fill($("add-kind"), found.kinds.map(kind => el("option", { value: kind.kind }, kind.title)));
  fill($("stations"), found.stations.map(name => el("option", { value: name })));
  const gone = found.recordings.filter(item => item.missing);
  $("missing").hidden = gone.length === 0;
  fill($("missing"), gone.map(item => el("p", {}, item.missing)), gone.length ? el("p", {}, "Start the page again with --recordings and the folder that holds it.") : null);
}

async function poll() {
  try {
    const found = await ask.get("changes", { since: token });
    $("offline").hidden = true;
    if (found.changed) await others(found);
    token = found.token;
  } catch (error) {
    if (!(error instanceof ask.Refused)) throw error;
    $("offline").hidden = false;
    $("offline").textContent = error.message;
  }
  setTimeout(poll, document.hidden ? HIDDEN_MS : POLL_MS);
}

/** Something changed, here or elsewhere: the list stays in its place, the row at hand is told of, what is typed stays. */
async function others(found) {
  standing(found);
  const before = row.current();
  await list.renew();
  neighbours();
  const now = list.selected();
  if (!now || !before || now.key !== before.key || (now.revision === before.revision && now.state === before.state && now.certainty === before.certainty)) return;
  const mine = row.changed();
  row.show(now, { keep: true });
  if (now.number === null) return;
  const whole = await ask.get(`rows/${now.number}`);
  if (list.selected()?.key !== now.key) return;
  row.history(whole);
  const by = whole.deeds[0];
  if (by && by.who === deeds.who() && !row.isTyping()) return;
  say(`${by ? by.who : "Somebody"} changed row ${now.number} while you looked at it.`, true);
  if (Object.keys(mine).length) row.conflict(before, whole, mine);
}

/** The row whose words play is marked among those of the sound. */
function pointed(word) {
  talk.point(word);
  const now = word ? deeds.together().filter(item => { const span = item.evidence[0]?.span; return span && word.start < span.end && word.end > span.start; }) : [];
  for (const line of $("together").children) line.classList.toggle("plays", now.some(item => item.key === line.dataset.key));
}

function toRow(event) {
  const found = deeds.together()[Number(event.key) - 1];
  if (found) list.find(found.key); else say("This sound holds no such row.");
}

async function written(answer) {
  passages.forget();
  if (answer.rows) passages.take(answer.rows);
  if (answer.rows) for (const entry of answer.rows) if (row.current()?.key === entry.key) { row.show(entry); if (entry.number !== null) past(entry); }
  neighbours();
  if (answer.rows?.some(entry => !about.choices.kind.some(item => item.name === entry.kind)) || answer.seal) about = await ask.get("session");
  const found = await ask.get("changes", { since: "" });
  token = found.token;
  standing(found);
}

// drawings

async function drawings() {
  $("plots-dialog").showModal();
  fill($("plots"), el("p", {}, "Drawing …"));
  try {
    const found = await ask.page("plots", { ...list.filter(), order: null });
    const drawn = [...found.querySelectorAll("main > p, figure")].map(figure => document.importNode(figure, true));
    fill($("plots"), drawn.some(item => item.matches("figure")) ? drawn : el("p", {}, "No readout that fits the filter was given three times or more, so there is nothing to draw."));
  } catch (error) { fill($("plots"), el("p", {}, error.message)); }
}

$("plots").addEventListener("click", event => {
  const link = event.target.closest("a");
  if (!link) return;
  event.preventDefault();
  $("plots-dialog").close();
  list.find((link.getAttribute("href") || link.href.baseVal).slice(1));
});

// wiring

const press = id => () => { $(id).checked = !$(id).checked; $(id).dispatchEvent(new Event("change")); say(`${$(id).parentElement.textContent.trim()}: ${$(id).checked ? "on" : "off"}`); };
const ACTIONS = [
  [["j", "ArrowDown"], "j or ↓", "next row, and hear it", "Going through", () => list.step(1)],
  [["k", "ArrowUp"], "k or ↑", "the row before", "Going through", () => list.step(-1)],
  [["/"], "/", "search for words", "Going through", () => $("words-wanted").focus()],
  [["g"], "g", "drawings of readouts over time", "Going through", drawings],
  [["Escape"], "Esc", "leave a field, stop the sound", "Going through", () => sound.stop()],
  [[" ", "Enter"], "Space", "play or stop", "Hearing", () => sound.toggle()],
  [["h"], "h", "half speed", "Hearing", press("half")],
  [["q"], "q", "one and a half times the speed", "Hearing", press("quick")],
  [["p"], "p", "rows that run together: in one playing, or each alone", "Hearing", press("passages")],
  [["l"], "l", "loop this row", "Hearing", press("loop")],
  [[",", "ArrowLeft"], ", or ←", "half a second back", "Hearing", () => sound.seek(sound.now() - 0.5)],
  [[".", "ArrowRight"], ". or →", "half a second on", "Hearing", () => sound.seek(sound.now() + 0.5)],
  [["b"], "b", "two seconds more before", "Hearing", () => widen(2, 0)],
  [["f"], "f", "two seconds more after", "Hearing", () => widen(0, 2)],
  [["i"], "i", "start of a mark", "Hearing", () => sound.markAt("from")],
  [["o"], "o", "end of a mark", "Hearing", () => sound.markAt("to")],
  [["a"], "a", "right: a person heard it", "Deciding", () => deeds.accept()],
  [["A", "Shift+A"], "A", "right: this row and all in its sound", "Deciding", () => deeds.acceptTogether()],
  [["1", "2", "3", "4", "5", "6", "7", "8", "9"], "1 … 9", "to that row of this sound", "Deciding", toRow],
  [["x"], "x", "take the other reading into its field, or the next one", "Deciding", () => row.other()],
  [["R", "Shift+R"], "R", "after a new name: name the others so too", "Deciding", () => deeds.rename()],
  [["e"], "e", "change: go to the fields", "Deciding", () => row.edit()],
  [["Ctrl+Enter"], "Ctrl+Enter", "save what is typed", "Deciding", () => deeds.change()],
  [["r"], "r", "reject: there is no such row", "Deciding", () => deeds.reject()],
  [["s"], "s", "split into two rows", "Deciding", () => deeds.split()],
  [["t"], "t", "tick the row for a merge", "Deciding", () => list.tick()],
  [["m"], "m", "merge the ticked rows", "Deciding", () => deeds.merge()],
  [["n"], "n", "new row over the mark", "Deciding", () => deeds.add()],
  [["u"], "u", "take back your last deed", "Deciding", () => deeds.undo()],
  [["w"], "w", "say who you are", "Deciding", () => deeds.name(true)],
  [["?"], "?", "this panel", "Going through", () => $("help").showModal()],
  [["slide"], "arrows", "on the waveform: a tenth of a second", "Hearing", by => sound.seek(sound.now() + by)],
];
const CLICKS = { accept: deeds.accept, "accept-together": deeds.acceptTogether, rename: deeds.rename, reject: deeds.reject, split: deeds.split, tick: list.tick, merge: deeds.merge, add: deeds.add, save: deeds.change, revert: row.revert,
  undo: () => deeds.undo(), sign: deeds.sign, write: deeds.write, "show-plots": drawings, "show-help": () => $("help").showModal(), who: () => deeds.name(true),
  previous: () => list.step(-1), following: () => list.step(1), "more-before": () => widen(2, 0), "more-after": () => widen(0, 2),
  "mark-from": () => sound.markAt("from"), "mark-to": () => sound.markAt("to"), "load-again": () => list.load({}, row.current()?.key), "clear-filter": () => { list.clear(); list.load(); } };

async function begin() {
  keys.listen(ACTIONS);
  for (const [id, action] of Object.entries(CLICKS)) $(id).addEventListener("click", () => action());
  for (const button of document.querySelectorAll("dialog .leave")) button.addEventListener("click", () => button.closest("dialog").close());
  $("add-kind").addEventListener("change", deeds.addFields);
  $("passages").addEventListener("change", alone);
  $("fields-part").addEventListener("submit", event => { event.preventDefault(); deeds.change(); });
  let waiting = 0;
  $("filter").addEventListener("submit", event => { event.preventDefault(); list.load().catch(told); });
  $("filter").addEventListener("change", () => list.load().catch(told));
  $("words-wanted").addEventListener("input", () => { clearTimeout(waiting); waiting = setTimeout(() => list.load().catch(told), 250); });
  list.listen(choose);
  row.listen(row.use, deeds.undo);
  talk.listen(playTurn, number => list.find(`r${number}`));
  sound.on("word", pointed);
  sound.on("heard", () => { const entry = list.selected(); if (entry && entry.clip && !passages.runs(clip) && clip && clip.start <= entry.clip.start && clip.end >= entry.clip.end) deeds.markHeard(entry.key); });
  deeds.listen(written);
  deeds.showWho();
  const first = list.ask();
  about = await ask.get("session");
  token = about.token;
  deeds.setAbout(about);
  standing(about);
  choices(about);
  await list.load({}, "first", false, first);
  document.body.dataset.ready = "yes";
  setTimeout(poll, POLL_MS);
}

const told = error => say(error.message, true);
addEventListener("unhandledrejection", event => { if (event.reason instanceof ask.Refused) { event.preventDefault(); told(event.reason); } });
addEventListener("beforeunload", event => { if (row.unsaved()) event.preventDefault(); });
begin().catch(told);
