"use strict";
(() => {
  const sounds = JSON.parse(document.getElementById("sounds").textContent);
  const rows = [...document.querySelectorAll("[data-row]")];
  const now = document.querySelector(".now");
  let audio = null, playing = null;
  const stop = () => {
    if (audio) { audio.pause(); audio = null; }
    if (playing) { playing.classList.remove("playing"); playing = null; }
    now.textContent = "";
  };
  const play = row => {
    const again = playing === row;
    stop();
    const sound = sounds[row.dataset.row];
    if (again) return;
    if (!sound) { now.textContent = `Row ${row.dataset.row} has no sound in this file.`; return; }
    const mine = audio = new Audio("data:audio/ogg;base64," + sound);
    playing = row;
    row.classList.add("playing");
    now.textContent = `Playing row ${row.dataset.row}: ${row.querySelector(".says").textContent}`;
    const current = () => audio === mine; // a clip that was stopped must not stop the one after it
    mine.addEventListener("ended", () => { if (current()) stop(); });
    mine.play().catch(() => { if (!current()) return; stop(); now.textContent = "This browser cannot play the sound (Ogg with Opus)."; });
  };
  const move = step => {
    const at = rows.indexOf(document.activeElement.closest("[data-row]"));
    const next = rows[Math.min(rows.length - 1, Math.max(0, at + step))];
    if (next) { next.focus(); next.scrollIntoView({ block: "nearest" }); }
  };
  document.addEventListener("click", event => {
    const button = event.target.closest("button.play");
    if (button) { const row = button.closest("[data-row]"); row.focus(); play(row); }
  });
  document.addEventListener("keydown", event => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const row = document.activeElement.closest("[data-row]");
    if (event.key === "j") move(1);
    else if (event.key === "k") move(-1);
    else if (event.key === "Escape") stop();
    else if (row && document.activeElement === row && (event.key === " " || event.key === "Enter")) { event.preventDefault(); play(row); }
  });
})();
