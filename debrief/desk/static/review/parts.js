// Pieces of the page. Text is only ever set as text: nothing here, and nothing that calls it, makes markup out of a string.
export const $ = id => document.getElementById(id);

/** An element with attributes and children; a string child becomes a text node, null and false are left out. */
export function el(name, attributes = {}, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (key === "class") made.className = value;
    else if (key in made && typeof made[key] === "boolean") made[key] = Boolean(value);
    else made.setAttribute(key, value === true ? "" : value);
  }
  made.append(...children.flat().filter(child => child !== null && child !== undefined && child !== false));
  return made;
}

export const fill = (parent, ...children) =>
  parent.replaceChildren(...children.flat().filter(child => child !== null && child !== undefined && child !== false));

/** Tells a screen reader and the foot of the page; urgent for what went wrong. */
export function say(text, urgent = false) {
  $("said").textContent = urgent ? "" : text;
  $("alarm").textContent = urgent ? text : "";
}

export const plural = (count, one, many = one + "s") => `${count.toLocaleString("en")} ${count === 1 ? one : many}`;

export const clock = seconds => {
  const whole = Math.max(0, Math.floor(seconds));
  return `${Math.floor(whole / 3600)}:${String(Math.floor(whole / 60) % 60).padStart(2, "0")}:${String(whole % 60).padStart(2, "0")}`;
};

export const local = utc => new Date(utc).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });

/** Opens a dialog and gives its form's values when it is sent, null when it is left. */
export function asked(dialog) {
  return new Promise(resolve => {
    const form = dialog.querySelector("form");
    const done = value => {
      form.removeEventListener("submit", sent);
      dialog.removeEventListener("close", left);
      dialog.close();
      resolve(value);
    };
    const sent = event => { event.preventDefault(); done(new FormData(form)); };
    const left = () => done(null);
    form.addEventListener("submit", sent);
    dialog.addEventListener("close", left);
    dialog.showModal();
  });
}
