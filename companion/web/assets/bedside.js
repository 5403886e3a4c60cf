"use strict";
// Shows the pictures of the session that the server sends, each whole. It decides nothing; it only counts seconds down
// between two pictures, and sends on what is typed.
const at = (id) => document.getElementById(id);
const DOING = {
  starting: "Starting",
  speaking: "Speaking",
  listening: "Listening",
  typing: "Your turn: type",
  waiting: "Time is running",
  held: "Held",
  ended: "Complete",
  abandoned: "Broken off",
  "not passed": "Not yet passed",
  closed: "The program has stopped",
};
const WHAT = { "at least": "at least", "at most": "at most", look: "watch" };
const FITS = 200; // characters of the step and of what is asked, together in the large type
const QUIET_MS = 15000;
let picture = null;
let receivedAt = 0;
let lastSign = performance.now();
let drawn = false;

function text(id, words) {
  const place = at(id);
  if (place.textContent !== words) place.textContent = words;
}

function maybe(id, words) {
  text(id, words);
  at(id).hidden = !words;
}

function element(name, words, className) {
  const made = document.createElement(name);
  made.textContent = words;
  if (className) made.className = className;
  return made;
}

function fill(id, children) {
  const place = at(id);
  const fresh = document.createElement("div");
  fresh.append(...children);
  if (place.innerHTML !== fresh.innerHTML) place.replaceChildren(...fresh.childNodes);
}

function show(now) {
  at("bar").dataset.doing = now.doing;
  text("doing-word", DOING[now.doing]);
  fill("heard", heard(now.heard));
  text("mode", now.mode === "bedside" ? "For real" : "Rehearsal");
  at("mode").dataset.mode = now.mode;
  text("title", now.place.title);
  text("where", [now.place.branch, now.place.where].filter(Boolean).join(" · "));
  at("critical").hidden = !now.place.critical;
  text("instruction", now.instruction);
  at("instruction").classList.toggle("past", now.asked.length > 0);
  at("instruction").classList.toggle("lesser", now.asked.length > 0 && (now.instruction + now.asked.join("")).length > FITS);
  fill("asked", now.asked.map((words) => element("p", words)));
  maybe("caution", now.caution && `Caution: ${now.caution}`);
  maybe("remark", now.remark);
  at("remark").dataset.tone = now.tone;
  maybe("notice", now.notice);
  typing(now);
  fill("replies", replies(now));
  drawing(now.drawing);
  countDown();
  document.title = `${DOING[now.doing]}: ${now.place.title} · companion`;
  fit();
}

function heard(list) {
  const last = list[list.length - 1];
  if (!last) return [];
  if (last.how === "not taken") return [element("span", `Not taken: ${last.what}`, "missed")];
  return [element("span", `${last.how === "typed" ? "Typed" : "Heard"}: `), element("b", last.what)];
}

function replies(now) {
  if (!now.replies.length || now.doing === "speaking") return [];
  const made = [element("span", "You can say: ")];
  now.replies.forEach((words, number) => {
    if (number) made.push(document.createTextNode(" · "));
    made.push(element("b", words));
  });
  return made;
}

function typing(now) {
  const form = at("typing");
  const line = at("line");
  const began = form.hidden && now.types;
  form.hidden = !now.types;
  const kind = now.hidden ? "password" : "text";
  if (line.type !== kind) {
    line.value = "";
    line.type = kind;
  }
  if (began) line.focus({ preventScroll: true });
}

async function drawing(wanted) {
  const figure = at("figure");
  if (wanted === drawn) return;
  drawn = wanted;
  figure.hidden = !wanted;
  if (!wanted) {
    figure.replaceChildren();
    return;
  }
  try {
    const answer = await fetch("/map");
    const parsed = new DOMParser().parseFromString(await answer.text(), "image/svg+xml").documentElement;
    if (answer.ok && drawn && parsed.nodeName === "svg") figure.replaceChildren(document.adoptNode(parsed));
  } catch {
    drawn = false;
  }
  fit();
}

function leftWords(ms) {
  const seconds = Math.max(0, Math.ceil(ms / 1000));
  const minutes = Math.floor(seconds / 60);
  return minutes ? `${minutes}:${String(seconds % 60).padStart(2, "0")}` : `${seconds} s`;
}

function countDown() {
  if (!picture) return;
  const passed = picture.closed ? 0 : picture.age_ms + performance.now() - receivedAt;
  const rows = picture.timers.map((timer) => {
    const row = element("li", "");
    const whose = timer.title === picture.place.title ? WHAT[timer.what] : `${timer.title}, ${WHAT[timer.what]}`;
    row.append(element("span", leftWords(timer.left_ms - passed), "left"), element("span", whose));
    return row;
  });
  fill("timers", rows);
}

// The large type grows into free room, up to what can be read from three metres, and gives way only where more has to
// be shown than fits.
function fit() {
  const root = document.documentElement;
  const set = (name, value) => root.style.setProperty(name, value.toFixed(2));
  const over = () => root.scrollHeight > root.clientHeight;
  set("--fit", 1);
  set("--grow", 1);
  if (matchMedia("(max-width: 60rem), (max-height: 30rem)").matches) return;
  for (let part = 1; part > 0.45 && over(); part -= 0.04) set("--fit", part);
  if (over()) return;
  for (let part = 1.5; part > 1; part -= 0.1) {
    set("--grow", part);
    if (!over()) return;
  }
  set("--grow", 1);
}

function lost(words) {
  maybe("lost", words);
  fit();
}

function follow() {
  const source = new EventSource("/events");
  source.onmessage = (event) => {
    picture = JSON.parse(event.data);
    receivedAt = lastSign = performance.now();
    if (!at("lost").hidden) lost("");
    show(picture);
    if (picture.closed) source.close();
  };
  source.addEventListener("alive", () => {
    lastSign = performance.now();
    if (!at("lost").hidden) lost("");
  });
  source.onerror = () => {
    lost("This page has lost the program. The voice and the terminal go on. Trying again.");
    if (source.readyState === EventSource.CLOSED) setTimeout(follow, 1000);
  };
}

at("typing").addEventListener("submit", async (event) => {
  event.preventDefault();
  const line = at("line");
  try {
    const answer = await fetch("/line", { method: "POST", body: line.value, headers: { "Content-Type": "text/plain" } });
    text("line-says", answer.ok ? "" : "Not taken: too long, or too many at once.");
    if (answer.ok) line.value = "";
  } catch {
    text("line-says", "Not sent: the program does not answer.");
  }
});

// Typing anywhere types a reply, so that nothing has to be reached for first.
document.addEventListener("keydown", (event) => {
  const plain = !event.ctrlKey && !event.altKey && !event.metaKey;
  const line = at("line");
  if (plain && !at("typing").hidden && document.activeElement !== line && (event.key.length === 1 || event.key === "Enter")) {
    line.focus({ preventScroll: true });
    if (event.key === "Enter") {
      event.preventDefault();
      at("typing").requestSubmit();
    }
  }
});

if (location.hash) history.replaceState(null, "", location.pathname);
setInterval(() => {
  countDown();
  if (picture && !picture.closed && performance.now() - lastSign > QUIET_MS) {
    lost("This page hears nothing from the program. Listen to the voice, or look at the terminal.");
  }
}, 250);
addEventListener("resize", fit);
follow();
