// What a person decides: each deed names the person and the state of the row that they saw; a refusal loses nothing that was typed.
import { $, asked, el, fill, plural, say } from "./parts.js";
import { Refused, get, send } from "./ask.js";
import * as list from "./list.js";
import * as passages from "./passages.js";
import * as row from "./row.js";
import * as sound from "./sound.js";

const heard = new Set(); // keys of the entries whose sound this window played
let confirmed = null, busy = false, about = null, onDone = () => {};

export const listen = done => { onDone = done; };
export const setAbout = found => { about = found; };
export const markHeard = key => heard.add(key);

export const who = () => sessionStorage.getItem("debrief-who") || "";

/** The person's name, asked once a window. */
export async function name(always = false) {
  if (who() && !always) return who();
  $("who-name").value = who() || localStorage.getItem("debrief-who") || "";
  const given = await asked($("who-dialog"));
  const text = given ? given.get("who").trim() : "";
  if (text) {
    sessionStorage.setItem("debrief-who", text);
    localStorage.setItem("debrief-who", text);
  }
  showWho();
  return text || who();
}

export function showWho() { $("who").textContent = who() ? `You: ${who()}` : "Give your name"; }

/** Sends a deed about the entry at hand and shows what came of it; true when it was written. */
async function done(path, body, entry, says) {
  if (busy) return false;
  const person = await name();
  if (!person) { say("Nothing was written: the page needs a name for every edit.", true); return false; }
  busy = true;
  try {
    const answer = await send(path, { ...body, who: person });
    list.take(answer.rows);
    say(says(answer));
    onDone(answer, entry);
    return answer;
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    await refused(error, entry);
    return false;
  } finally {
    busy = false;
  }
}

async function refused(error, entry) {
  say(error.message, true);
  if (error.status === 422) { row.refuse(error.answer.what || ""); return; }
  if (error.status !== 409 || !entry || entry.number === null) return;
  const now = error.answer.now || await get(`rows/${entry.number}`);
  const mine = row.changed();
  list.take([now]);
  row.show(now);
  row.history(now);
  row.conflict(entry, now, mine);
  $("conflict").focus();
}

const stays = entry => `rows/${entry.number}`;
const seen = entry => ({ revision: entry.revision });

/** Right as it stands. Without its sound played in this window the first press plays it; where there is no sound it asks once more. */
export async function accept() {
  const entry = list.selected();
  if (!entry || $("accept").disabled) return;
  if (row.isTyping()) { await change(); return; }
  if (!wasHeard(entry) && sound.hasSound()) {
    sound.start();
    say("Hear it first: it plays now. Press again when you have heard it.");
    return;
  }
  const unheard = !wasHeard(entry);
  if (unheard && confirmed !== entry.key) {
    confirmed = entry.key;
    say("There is no sound to hear here. Press again to take it as right without.");
    return;
  }
  const written = entry.number === null
    ? await done("heard", { place: entry.place }, entry, () => "Heard; nothing there that is missing.")
    : await done(`${stays(entry)}/accept`, { ...seen(entry), note: unheard ? "accepted without sound" : "" }, entry, ({ rows }) => `Row ${entry.number} is right.${follow(rows)}`);
  if (written) await goOn();
}

/** To the next row that is left, first to those of the passage at hand; one whose words were heard just now is not played again. */
async function goOn() {
  if (!$("go-on").checked) return;
  const left = passages.runs(sound.current()) ? together().find(entry => list.holds(entry.key)) : null;
  if (left) { list.pick(left.key, { focus: true }); return; }
  await list.step(1, { open: true, quiet: entry => sound.played(entry.clip) });
  const next = list.selected();
  if (next && !list.done(next) && sound.played(next.clip) && !sound.playing()) say(`${$("said").textContent} The next row's words were heard just now: space plays them again.`);
}

const wasHeard = entry => heard.has(entry.key) || sound.played(entry.clip);

/** Rows that lie in the sound at hand and are left to be decided, in their order in it. */
export function together() {
  const at = list.selected();
  const known = new Map([...passages.rows(), ...list.others()].map(entry => [entry.key, entry]));
  return [...known.values()].filter(entry => entry.key !== at?.key && entry.number !== null && !list.done(entry) && !row.hasDraft(entry.key) && sound.holds(entry.clip))
    .sort((one, other) => one.clip.start - other.clip.start);
}

/** Right: the row at hand and all that lie in its sound, once that was played to its end. */
export async function acceptTogether() {
  const entry = list.selected();
  if (!entry || entry.number === null || $("accept").disabled) return;
  if (row.isTyping()) { say("Save what is typed first: Ctrl and Enter."); return; }
  const rows = [...(list.done(entry) ? [] : [entry]), ...together()];
  const unheard = rows.filter(item => !sound.played(item.clip));
  if (!rows.length) { say("Nothing in this sound is left to be decided."); return; }
  if (unheard.length && sound.hasSound()) {
    if (!sound.playing()) sound.start();
    say("Hear it to its end first. Then press again.");
    return;
  }
  if (unheard.length) { say("There is no sound to hear here: take each row by itself."); return; }
  const written = await done("accept", { rows: rows.map(item => ({ number: item.number, revision: item.revision })) }, null,
    () => `${plural(rows.length, "row")} of this sound ${rows.length > 1 ? "are" : "is"} right: ${rows.map(item => item.number).join(", ")}. u takes that back.`);
  if (written) await goOn();
  else { await list.renew(); list.pick(entry.key); }
}

export async function change() {
  const entry = row.current(), values = row.changed();
  if (!entry || !Object.keys(values).length) { say("Nothing is typed that differs from the row."); return; }
  const written = await done(`${stays(entry)}/change`, { ...seen(entry), values }, entry,
    ({ rows, same }) => `Row ${entry.number} is changed.${follow(rows)}${same ? ` ${plural(same.rows.length, "row")} more ${same.rows.length > 1 ? "are" : "is"} named ${same.was}: R names ${same.rows.length > 1 ? "them" : "it"} ${same.value} too.` : ""}`);
  if (!written) return;
  row.show(written.rows[0]);
  row.same(written.same);
  $(`entry-${entry.key}`)?.querySelector("a").focus({ preventScroll: true });
}

/** What else a decision on a row decided. */
const follow = rows => rows.slice(1).map(item => ` Row ${item.number} follows it: ${item.state === "standing" ? item.text : item.state}.`).join("");

/** The name that was just given to a row, for the others of that name that are ticked; none of them counts as heard by that. */
export async function rename() {
  const same = row.sameName();
  if (!same) { say("Change a name first: then R gives it to the other rows of that name."); return; }
  const rows = same.rows.filter(item => $(`same-${item.key}`)?.checked);
  if (!rows.length) { say("No row is ticked."); return; }
  const body = { field: same.field, value: same.value, after: same.after, rows: rows.map(item => ({ number: item.number, revision: item.revision })) };
  if (await done("rename", body, null, () => `${plural(rows.length, "row")} named ${same.value}: ${rows.map(item => item.number).join(", ")}. Nobody has heard ${rows.length > 1 ? "them" : "it"} by that. u takes that back.`)) row.same(null);
  else await list.renew();
}

export async function reject() {
  const entry = list.selected();
  if (!entry || entry.number === null || entry.state !== "standing") return;
  if (await done(`${stays(entry)}/reject`, seen(entry), entry, ({ rows }) => `Row ${entry.number} is rejected.${follow(rows)} u takes that back.`)) await goOn();
}

export async function undo(deed = null) {
  const entry = list.selected();
  const answer = await done("undo", { deed }, null, found => `Taken back: ${found.rows.map(item => `row ${item.number}`).concat(found.gone.map(number => `row ${number} is gone`)).join(", ")}.`);
  if (answer && entry) await list.renew();
  if (answer && answer.rows.length && !answer.rows.some(item => entry && item.key === entry.key)) await list.find(answer.rows[0].key, false);
  else if (answer) list.pick(entry ? entry.key : null);
}

export async function merge() {
  const rows = list.tickedRows();
  if (rows.length < 2) { say("Tick two rows or more with t; then m makes one row of them."); return; }
  const answer = await done("merge", { rows: rows.map(item => ({ number: item.number, revision: item.revision })) }, rows[0], () => `${plural(rows.length, "row")} are now row ${rows[0].number}.`);
  if (answer) { list.untick(); await list.find(rows[0].key, false); }
  else { list.untick(); await list.renew(); }
}

export async function split() {
  const entry = list.selected();
  if (!entry || entry.number === null || entry.state !== "standing") return;
  const filled = entry.fields.filter(field => field.value !== "");
  fill($("split-parts"), [1, 2].map(part => el("fieldset", {}, el("legend", {}, part === 1 ? `Row ${entry.number} becomes` : "and a new row"), filled.map(field => row.input(field, `split${part}-`)))));
  const given = await asked($("split-dialog"));
  if (!given) return;
  const parts = [...$("split-parts").querySelectorAll("fieldset")].map(part => row.values([...part.querySelectorAll("input, select")]
    .filter(item => item.value.trim() !== item.dataset.was).map(item => [item.name, item.value])));
  const answer = await done(`${stays(entry)}/split`, { ...seen(entry), parts }, entry, found => `Two rows: ${found.rows.map(item => item.number).join(" and ")}.`);
  if (answer) { list.insert(answer.rows); list.pick(answer.rows[0].key, { focus: true }); }
}

export async function add() {
  const entry = list.selected();
  if (!entry) return;
  const marked = sound.marked() || (sound.hasSound() ? sound.current() : null);
  const place = marked ? { recording: marked.recording, channel: marked.channel, start: marked.start, end: marked.end } : entry.turn !== null ? { turn: entry.turn } : null;
  if (!place) { say("There is no sound and no turn here to make a row from.", true); return; }
  $("add-place").textContent = sound.marked() ? `The marked ${((marked.end - marked.start) / sound.RATE).toFixed(1)} s of sound` : marked ? "The whole sound that is shown (mark a part with i and o)" : "The turn that is shown";
  addFields();
  const given = await asked($("add-dialog"));
  if (!given) return;
  const values = row.values([...$("add-fields").querySelectorAll("input, select")].filter(item => item.value.trim()).map(item => [item.name, item.value]));
  const answer = await done("add", { kind: given.get("kind"), station: given.get("station"), place, values }, null, found => `Row ${found.rows[0].number} is added.`);
  if (answer) { list.insert(answer.rows); list.pick(answer.rows[0].key, { focus: true }); }
}

export function addFields() {
  const kind = about.kinds.find(item => item.kind === $("add-kind").value);
  const empty = { value: "", origin: "", certainty: "", why: [], others: [] };
  fill($("add-says"), kind.says);
  fill($("add-fields"), kind.fields.map(field => row.input(field.type === "map" ? { ...empty, name: `${field.name}.`, type: "entry" } : { ...field, ...empty }, "add-")));
}

export async function sign() {
  const person = await name();
  if (!person) return;
  const found = await get("session");
  const { rows, heard: heardRows, places, places_heard: placesHeard } = found.counts;
  $("sign-says").textContent = `${person}, you sign ${plural(rows, "row")}: ${heardRows} heard by a person, ${rows - heardRows} not. ` +
    `Of ${plural(places, "place")} without a row ${placesHeard} were heard. Sheet and tables will say so.`;
  $("sign-warning").hidden = rows === heardRows;
  if (!await asked($("sign-dialog"))) return;
  try {
    const answer = await send("sign", { who: person, token: found.token });
    say("Signed. Any later edit breaks the seal, and the page says so. Write sheet and tables, so that they carry it.");
    onDone(answer, null);
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    say(error.message, true);
  }
}

/** Sheet, tables and captions as the session stands now. */
export async function write() {
  $("write").disabled = true;
  say("Writing sheet and tables …");
  try {
    const answer = await send("write", {});
    say(`Sheet and tables are written into ${answer.folder}`);
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    say(error.message, true);
  } finally {
    $("write").disabled = false;
  }
}
