"use strict";
const sounds = JSON.parse(document.getElementById("sounds").textContent);
const player = new Audio();
document.addEventListener("click", (event) => {
  const button = event.target.closest("button[data-sound]");
  if (!button) return;
  player.src = "data:audio/ogg;base64," + sounds[button.dataset.sound];
  player.play();
});
