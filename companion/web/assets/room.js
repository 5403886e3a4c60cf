"use strict";
// Playing a session, saving marks, printing. Everything else on these pages works without it.

async function post(path, body) {
  try {
    const answer = await fetch(path, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
    });
    const told = await answer.text();
    try {
      return JSON.parse(told);
    } catch {
      return { problem: told.trim() };
    }
  } catch {
    return { problem: "The program does not answer any more. What you filled in is still here." };
  }
}

for (const button of document.querySelectorAll("[data-print]")) {
  button.addEventListener("click", () => window.print());
}

const form = document.getElementById("marking");
if (form) {
  let changed = false;
  form.addEventListener("input", () => (changed = true));
  window.addEventListener("beforeunload", (event) => {
    if (changed) event.preventDefault();
  });
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const says = document.getElementById("marking-says");
    const given = new FormData(form);
    const items = [];
    for (const row of form.querySelectorAll("[data-step]")) {
      const step = row.dataset.step;
      const mark = given.get(`m-${step}`) || null;
      const remark = given.get(`r-${step}`).trim();
      if (mark || remark) items.push({ step, mark, remark });
    }
    const rating = given.get("rating");
    says.textContent = "";
    const told = await post(form.getAttribute("action"), {
      marker: form.dataset.marker,
      seen: Number(form.dataset.seen),
      items,
      rating: rating ? Number(rating) : null,
      remark: given.get("remark").trim().replaceAll("\r\n", "\n"),
    });
    if (told.to) {
      changed = false;
      location.assign(told.to);
      return;
    }
    says.textContent = `Not saved: ${told.problem}`;
  });
}

const deciding = document.getElementById("deciding");
if (deciding && deciding.elements.marker) {
  const seen = JSON.parse(deciding.dataset.seen);
  deciding.addEventListener("submit", async (event) => {
    event.preventDefault();
    const says = document.getElementById("deciding-says");
    const given = new FormData(deciding);
    const decisions = {};
    for (const step of deciding.querySelectorAll("[data-step]")) {
      const decision = given.get(`d-${step.dataset.step}`);
      if (decision) decisions[step.dataset.step] = decision;
    }
    const marker = given.get("marker").trim();
    says.textContent = "";
    const told = await post(deciding.getAttribute("action"), { marker, seen: seen[marker] || 0, decisions });
    if (told.to) location.reload();
    else says.textContent = `Not saved: ${told.problem}`;
  });
}

const play = document.getElementById("play");
if (play) {
  const player = play.closest(".player");
  const speed = document.getElementById("speed");
  const aloud = document.getElementById("aloud");
  const now = document.getElementById("now");
  const telling = document.getElementById("telling");
  const moments = [...document.querySelectorAll("#moments li")];
  const head = document.querySelector(".playhead");
  const width = head.ownerSVGElement.viewBox.baseVal.width;
  const still = window.matchMedia("(prefers-reduced-motion: reduce)");
  const last = Math.max(1, ...moments.map((each) => Number(each.dataset.at)));
  let place = 0; // the moment that comes next
  let at = 0; // session time, ms
  let run = 0; // every start and hold makes the ones before void

  function clock(ms) {
    const tenths = Math.round(ms / 100);
    const rest = ((tenths % 600) / 10).toFixed(1).padStart(4, "0");
    return `${String(Math.floor(tenths / 600)).padStart(2, "0")}:${rest}`;
  }

  function stand(ms) {
    at = ms;
    now.textContent = clock(ms);
    const x = (ms / last) * width;
    head.setAttribute("x1", x);
    head.setAttribute("x2", x);
    head.classList.add("on");
  }

  function show(moment) {
    for (const each of moments) each.removeAttribute("aria-current");
    moment.setAttribute("aria-current", "step");
    moment.scrollIntoView({ block: "nearest", behavior: still.matches ? "auto" : "smooth" });
    telling.textContent = moment.querySelector(".heard").textContent.replace(/\s+/g, " ").trim();
  }

  function hold() {
    run += 1;
    play.textContent = place < moments.length ? "Play" : "Play again";
    for (const clip of document.querySelectorAll("#moments audio")) clip.pause();
    if (aloud && aloud.checked) post(player.dataset.hush, {});
  }

  // The clip to its end, or until it fails or is held
  function heard(clip) {
    return new Promise((done) => {
      for (const end of ["ended", "error", "pause"]) clip.addEventListener(end, done, { once: true });
      clip.currentTime = 0;
      clip.play().catch(done);
    });
  }

  function frame() {
    return new Promise((done) => setTimeout(done, 50));
  }

  async function go() {
    const mine = ++run;
    if (place >= moments.length) {
      place = 0;
      stand(0);
    }
    play.textContent = "Hold";
    let then = performance.now();
    while (place < moments.length) {
      await frame();
      if (mine !== run) return;
      const next = performance.now();
      stand(Math.min(last, at + (next - then) * Number(speed.value)));
      then = next;
      while (place < moments.length && Number(moments[place].dataset.at) <= at) {
        const moment = moments[place++];
        show(moment);
        if (!aloud || !aloud.checked) continue;
        const clip = moment.querySelector("audio");
        if (clip) {
          stand(Number(moment.dataset.at));
          await heard(clip);
          if (mine !== run) return;
        }
        if (!Number(moment.dataset.says)) {
          then = performance.now();
          continue;
        }
        stand(Number(moment.dataset.at)); // time stands while it is said
        const told = await post(player.dataset.say, { n: Number(moment.dataset.n) });
        if (mine !== run) return;
        if (told.problem) {
          aloud.checked = false;
          telling.textContent = told.problem;
        }
        then = performance.now();
      }
    }
    hold();
  }

  function jump(number) {
    const going = play.textContent === "Hold";
    hold();
    place = number + 1;
    show(moments[number]);
    stand(Number(moments[number].dataset.at));
    if (going) go();
  }

  for (const button of player.querySelectorAll("[data-step]")) {
    button.addEventListener("click", () => {
      const to = place - 1 + Number(button.dataset.step);
      if (moments.length) jump(Math.min(Math.max(to, 0), moments.length - 1));
    });
  }

  play.addEventListener("click", () => (play.textContent === "Hold" ? hold() : go()));
  document.getElementById("moments").addEventListener("click", (event) => {
    const moment = event.target.closest("li");
    if (!moment || getSelection().toString() || event.target.closest("audio")) return;
    jump(moments.indexOf(moment));
  });
}
