// The sound of the row at hand: fetched a few rows ahead, drawn, played at full or half speed, looped, marked.
import { $, el, fill, say } from "./parts.js";
import { clipBytes } from "./ask.js";

export const RATE = 16000;
const AHEAD = 12; // clips kept
const HEAD = 44; // bytes before the samples of a WAV file as the server writes it
const audio = new Audio();
audio.preservesPitch = true;
const kept = new Map(); // name of clip -> promise of {url, peaks}
const listeners = { word: () => {}, end: () => {}, heard: () => {} };
let at = null; // {clip, words, evidence, sound}
let mark = { from: null, to: null };
let frame = 0;

const speed = () => $("half").checked ? 0.5 : $("quick").checked ? 1.5 : 1;
const name = clip => `${clip.recording}/${clip.channel}/${clip.start}-${clip.end}`;
export const on = (event, listener) => { listeners[event] = listener; };
export const current = () => at && at.clip;
export const playing = () => !audio.paused;
export const marked = () => (at && mark.from !== null && mark.to !== null && mark.from !== mark.to)
  ? { recording: at.clip.recording, channel: at.clip.channel,
      start: at.clip.start + Math.round(Math.min(mark.from, mark.to) * RATE), end: at.clip.start + Math.round(Math.max(mark.from, mark.to) * RATE) }
  : null;

/** Fetches a clip before it is needed. */
export function ahead(clip) {
  if (!clip) return null;
  const key = name(clip);
  const found = kept.get(key);
  if (found) { kept.delete(key); kept.set(key, found); return found; }
  const made = clipBytes(clip).then(bytes => {
    const samples = new Int16Array(bytes, HEAD);
    return { url: URL.createObjectURL(new Blob([bytes], { type: "audio/wav" })), peaks: peaks(samples) };
  });
  made.catch(() => kept.delete(key));
  kept.set(key, made);
  while (kept.size > AHEAD) {
    const [oldest, sound] = kept.entries().next().value;
    kept.delete(oldest);
    sound.then(gone => { if (audio.src !== gone.url) URL.revokeObjectURL(gone.url); }, () => {});
  }
  return made;
}

function peaks(samples, columns = 600) {
  const step = Math.max(1, Math.floor(samples.length / columns));
  const made = [];
  for (let start = 0; start < samples.length; start += step) {
    let most = 0;
    for (let i = start; i < Math.min(samples.length, start + step); i++) most = Math.max(most, Math.abs(samples[i]));
    made.push(most / 32768);
  }
  return made;
}

let awaited = false, wished = false; // a clip is being asked for; somebody wants to hear it as soon as it is here

/** What is on the desk is left: the clip of another row is being asked for. */
export function awaits() {
  stop();
  at = null;
  awaited = true;
  wished = false;
}

/** Puts a clip on the desk; null for a row without sound. why: what to say when there is none. */
export async function show(clip, { why = "", evidence = [], play = false } = {}) {
  stop();
  mark = { from: null, to: null };
  at = clip ? { clip, words: [], evidence, sound: null, wanted: wished } : null;
  awaited = wished = false;
  fill($("words"));
  $("sound").classList.toggle("none", !clip);
  $("no-sound").textContent = clip ? "" : why;
  $("no-sound").hidden = Boolean(clip);
  draw();
  if (!clip) return;
  const mine = at;
  try {
    mine.sound = await ahead(clip);
  } catch (error) {
    mine.failed = true;
    if (at !== mine) return;
    $("sound").classList.add("none");
    $("no-sound").hidden = false;
    $("no-sound").textContent = error.message;
    return;
  }
  if (at !== mine) return;
  audio.src = mine.sound.url;
  audio.playbackRate = speed();
  audio.loop = $("loop").checked;
  draw();
  if (play || mine.wanted) start();
}

const heard = new Map(); // recording/channel -> [[start, end]] in samples that this window played, merged
const SLACK = 0.15 * RATE; // the player's own grain

/** Takes over what the player says it played of the clip at hand. */
function keep() {
  if (!at || !at.sound || audio.src !== at.sound.url) return;
  const where = `${at.clip.recording}/${at.clip.channel}`, found = heard.get(where) || [];
  for (let i = 0; i < audio.played.length; i++) found.push([at.clip.start + audio.played.start(i) * RATE, at.clip.start + audio.played.end(i) * RATE]);
  found.sort((one, other) => one[0] - other[0]);
  heard.set(where, found.reduce((merged, [start, end]) => {
    const last = merged.at(-1);
    if (last && start <= last[1] + SLACK) last[1] = Math.max(last[1], end); else merged.push([start, end]);
    return merged;
  }, []));
}

/** Whether this window played the words of a clip from their beginning to their end, in whatever playing. */
export function played(clip) {
  if (!clip || clip.searched) return false;
  keep();
  const from = clip.start + clip.pad + SLACK, to = clip.end - clip.pad - SLACK;
  return (heard.get(`${clip.recording}/${clip.channel}`) || []).some(([start, end]) => start <= from && end >= to);
}

/** Whether the words of a clip lie in the sound at hand. */
export const holds = clip => Boolean(at && clip && !clip.searched && clip.recording === at.clip.recording && clip.channel === at.clip.channel
  && clip.start + clip.pad >= at.clip.start && clip.end - clip.pad <= at.clip.end);

/** The sound at hand stays, for another row in it; from: where it goes on from, in samples of the recording. */
export function stay(evidence, from = null) {
  at.evidence = evidence;
  mark = { from: null, to: null };
  if (from !== null) { seek((from - at.clip.start) / RATE); start(); }
  draw();
}

/** There is sound, or it is on its way. */
export const hasSound = () => Boolean(at ? !at.failed : awaited);
export const seconds = () => at ? (at.clip.end - at.clip.start) / RATE : 0;
export const now = () => audio.currentTime || 0;

export function start() {
  if (!at) { wished = awaited; return; }
  if (!at.sound) { at.wanted = true; return; }
  audio.playbackRate = speed();
  if (audio.ended || audio.currentTime >= seconds() - 0.02) audio.currentTime = 0;
  const mine = at;
  audio.play().then(() => { if (at === mine) listeners.heard(mine.clip); }, error => {
    if (error.name === "NotAllowedError") say("Press space to hear it: the browser waits for a key before it plays.");
  });
  cancelAnimationFrame(frame);
  follow();
}

export function stop() {
  if (at) at.wanted = false;
  audio.pause();
  keep();
  cancelAnimationFrame(frame);
  $("play").setAttribute("aria-pressed", "false");
}

export const toggle = () => (playing() ? stop() : start());

export function seek(to) {
  if (!at) return;
  audio.currentTime = Math.max(0, Math.min(seconds(), to));
  point();
}

export function markAt(which) {
  if (!at) return;
  mark[which] = now();
  if (mark.from === null) mark.from = 0;
  if (mark.to === null && which === "to") mark.to = now();
  const found = marked();
  say(found ? `Marked ${((found.end - found.start) / RATE).toFixed(1)} s. n makes a row of it.` : `${which === "from" ? "Start" : "End"} of the mark set; now the other end.`);
  draw();
}

export function markSpan(from, to) { mark = { from, to }; draw(); }

function follow() {
  $("play").setAttribute("aria-pressed", String(playing()));
  point();
  if (playing()) frame = requestAnimationFrame(follow);
}

/** Words of the clip: {text, start, end, heard, why, value} in samples of the recording. */
export function words(found) {
  if (!at) return;
  at.words = found.map(word => ({ ...word, from: (word.start - at.clip.start) / RATE, to: (word.end - at.clip.start) / RATE }));
  fill($("words"), at.words.flatMap(word => {
    const says = [word.heard && `heard as “${word.heard}”`, word.why].filter(Boolean).join(": ");
    word.node = el("span", { class: [word.value && "value", word.heard && "mended"].filter(Boolean).join(" ") || null, title: says || null,
      onclick: () => { seek(word.from); start(); } }, word.text);
    return [word.node, " "];
  }));
  point();
  draw();
}

function point() {
  if (!at) return;
  const time = now();
  let said = null;
  for (const word of at.words) {
    const here = time >= word.from && time < word.to && (time > 0 || playing()); // before the first playing no word is said
    word.node.classList.toggle("now", here);
    if (here) said = word;
  }
  $("cursor").style.transform = `translateX(${seconds() ? (time / seconds()) * $("wave").clientWidth : 0}px)`;
  const slider = $("wave-box");
  slider.setAttribute("aria-valuemax", seconds().toFixed(1));
  slider.setAttribute("aria-valuenow", time.toFixed(1));
  slider.setAttribute("aria-valuetext", `${time.toFixed(1)} of ${seconds().toFixed(1)} seconds${said ? `, “${said.text}”` : ""}`);
  listeners.word(said);
}

function draw() {
  const canvas = $("wave");
  const width = canvas.clientWidth, height = canvas.clientHeight, scale = devicePixelRatio || 1;
  if (!width) return;
  canvas.width = width * scale;
  canvas.height = height * scale;
  const pen = canvas.getContext("2d"), style = getComputedStyle(document.documentElement), ink = key => style.getPropertyValue(key).trim();
  pen.scale(scale, scale);
  if (!at) { point(); return; }
  const whole = seconds(), x = time => (time / whole) * width, middle = height / 2;
  for (const span of at.evidence) {
    const from = x((span.start - at.clip.start) / RATE), to = x((span.end - at.clip.start) / RATE);
    pen.fillStyle = ink("--tint-strong");
    pen.fillRect(from, 0, Math.max(2, to - from), height);
    pen.fillStyle = ink("--sign");
    pen.fillRect(from, height - 3, Math.max(2, to - from), 3);
  }
  if (at.sound) {
    pen.fillStyle = ink("--soft");
    const wide = width / at.sound.peaks.length;
    at.sound.peaks.forEach((peak, i) => pen.fillRect(i * wide, middle - peak * middle, Math.max(0.6, wide * 0.7), Math.max(1, peak * height)));
  }
  if (mark.from !== null) {
    const from = x(Math.min(mark.from, mark.to ?? mark.from)), to = x(Math.max(mark.from, mark.to ?? mark.from));
    pen.strokeStyle = ink("--warn");
    pen.lineWidth = 2;
    pen.setLineDash([5, 3]);
    pen.strokeRect(from + 1, 2, Math.max(1, to - from - 2), height - 4);
    pen.setLineDash([]);
  }
  point();
}

audio.addEventListener("ended", () => { $("play").setAttribute("aria-pressed", "false"); listeners.end(); });
audio.addEventListener("pause", () => $("play").setAttribute("aria-pressed", "false"));
for (const [one, other] of [["half", "quick"], ["quick", "half"]]) {
  $(one).addEventListener("change", () => { if ($(one).checked) $(other).checked = false; audio.playbackRate = speed(); });
}
$("loop").addEventListener("change", () => { audio.loop = $("loop").checked; });
$("play").addEventListener("click", toggle);
addEventListener("resize", draw);
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", draw);

let dragged = null;
const timeAt = event => ((event.clientX - $("wave").getBoundingClientRect().left) / $("wave").clientWidth) * seconds();
$("wave-box").addEventListener("pointerdown", event => {
  if (!at || event.button) return;
  dragged = timeAt(event);
  $("wave-box").setPointerCapture(event.pointerId);
  seek(dragged);
});
$("wave-box").addEventListener("pointermove", event => {
  if (dragged !== null && Math.abs(timeAt(event) - dragged) > 0.05) markSpan(dragged, Math.max(0, Math.min(seconds(), timeAt(event))));
});
$("wave-box").addEventListener("pointerup", () => {
  dragged = null;
  const found = marked();
  if (found) say(`Marked ${((found.end - found.start) / RATE).toFixed(1)} s. n makes a row of it.`);
});
