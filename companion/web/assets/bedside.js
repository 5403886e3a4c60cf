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
  "not passed": "Not passed",
  undecided: "Undecided",
  "not judged": "Not judged",
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
  if (now.doing === "speaking" || !(now.replies.length + now.controls.length)) return [];
  const answers = now.replies.map((words) => element("b", words));
  const controls = now.controls.map((words) => element("span", words));
  return [element("span", "You can say: "), ...[...answers, ...controls].flatMap((one) => [one, " · "]).slice(0, -1)];
}

function typing(now) {
  const form = at("typing");
  const began = form.hidden && now.types;
  form.hidden = !now.types;
  hide();
  if (began) at("line").focus({ preventScroll: true });
}

// A line that was begun hidden stays hidden until it is sent or taken back: nothing typed is thrown away, and no figure
// shows that must not.
function hide() {
  if (!picture) return; // the page came as it has to be
  const line = at("line");
  const kind = picture.hidden ? "password" : "text";
  if (line.type === kind || (line.value && kind === "text")) return;
  line.type = kind;
  line.setSelectionRange(line.value.length, line.value.length);
}

// One line after the other, in the order in which they were typed. The field is free for the next at once.
let sent = Promise.resolve();

function send() {
  const line = at("line");
  const words = line.value;
  const kind = line.type;
  line.value = "";
  hide();
  sent = sent.then(async () => {
    const fault = await refused(words);
    if (!fault) {
      text("line-says", "");
    } else if (line.value) {
      text("line-says", kind === "text" ? `${fault} It was: ${words}` : fault);
    } else {
      line.type = kind;
      line.value = words;
      text("line-says", fault);
    }
  });
}

async function refused(words) {
  try {
    const answer = await fetch("line", { method: "POST", body: words, headers: { "Content-Type": "text/plain" } });
    return answer.ok ? "" : "Not taken: too long, or too many at once.";
  } catch {
    return "Not sent: the program does not answer.";
  }
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
    const answer = await fetch("map");
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
// be shown than fits. The answers grow before it.
function fit() {
  const root = document.documentElement;
  const set = (name, value) => root.style.setProperty(name, value.toFixed(2));
  const over = () => root.scrollHeight > root.clientHeight;
  set("--fit", 1);
  set("--grow", 1);
  set("--say", 0.26);
  if (matchMedia("(max-width: 60rem), (max-height: 30rem)").matches) return;
  for (let part = 1; part > 0.45 && over(); part -= 0.04) set("--fit", part);
  if (over()) return;
  for (let part = 0.5; part > 0.26; part -= 0.06) {
    set("--say", part);
    if (!over()) break;
    set("--say", 0.26);
  }
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
  const source = new EventSource("events");
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

at("typing").addEventListener("submit", (event) => {
  event.preventDefault();
  send();
});
at("line").addEventListener("input", hide);

// Typing anywhere types a reply, so that nothing has to be reached for first. A letter that is put together from several
// keys comes as "Dead" or "Process"; on some keyboards a plain letter needs AltGr, which counts as Ctrl and Alt there.
const TYPED = new Set(["Enter", "Backspace", "Dead", "Process", "Unidentified"]);
document.addEventListener("keydown", (event) => {
  const command = (event.ctrlKey || event.altKey || event.metaKey) && !event.getModifierState("AltGraph");
  const line = at("line");
  if (command || at("typing").hidden || document.activeElement === line) return;
  if (event.key.length !== 1 && !TYPED.has(event.key)) return;
  line.focus({ preventScroll: true });
  if (event.key === "Enter") {
    event.preventDefault();
    send();
  }
});

setInterval(() => {
  countDown();
  if (picture && !picture.closed && performance.now() - lastSign > QUIET_MS) {
    lost("This page hears nothing from the program. Listen to the voice, or look at the terminal.");
  }
}, 250);
addEventListener("resize", fit);
follow();
