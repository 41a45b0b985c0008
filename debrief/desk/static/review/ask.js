// Questions to the page's own server, and the one shape of its refusals.
export class Refused extends Error {
  constructor(status, answer) {
    super([answer.what, answer.todo].filter(Boolean).join("; "));
    this.status = status;
    this.answer = answer;
  }
}

async function answered(response) {
  const answer = await response.json().catch(() => ({ what: `the page's server answered ${response.status}`, todo: "" }));
  if (!response.ok) throw new Refused(response.status, answer);
  return answer;
}

async function fetched(address, options) {
  try {
    return await fetch(address, { credentials: "same-origin", cache: "no-store", ...options });
  } catch {
    throw new Refused(0, { what: "the review page's program does not answer", todo: "is it still running in its terminal? Nothing typed is lost while this page stays open" });
  }
}

export function query(given) {
  const made = new URLSearchParams();
  for (const [name, value] of Object.entries(given)) {
    for (const item of Array.isArray(value) ? value : [value]) {
      if (item !== null && item !== undefined && item !== "") made.append(name, item);
    }
  }
  return made.toString();
}

export const get = async (path, given = {}) => answered(await fetched(`api/${path}?${query(given)}`));

export const send = async (path, body) => answered(await fetched(`api/${path}`, {
  method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body) }));

/** The bytes of a clip. */
export async function clipBytes(clip) {
  const response = await fetched(`sound/${clip.recording}/${clip.channel}/${clip.start}-${clip.end}.wav`);
  if (!response.ok) throw new Refused(response.status, await response.json().catch(() => ({ what: "no sound", todo: "" })));
  return response.arrayBuffer();
}

/** A page of our own as a document (drawings), without making markup from text. */
export function page(path, given) {
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open("GET", `${path}?${query(given)}`);
    request.responseType = "document";
    request.addEventListener("load", () => request.status === 200 && request.response
      ? resolve(request.response) : reject(new Refused(request.status, { what: "the drawings cannot be made", todo: "" })));
    request.addEventListener("error", () => reject(new Refused(0, { what: "the review page's program does not answer", todo: "" })));
    request.send();
  });
}
