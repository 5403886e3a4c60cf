"use strict";
// Swaps the token of the address for a cookie and the path that everything lies under. The fragment is taken off the
// address first, so that it is neither bookmarked nor seen over a shoulder. The path is kept for this origin, so that
// whoever has come in with this browser can open the bare address again; without the cookie it opens nothing.
(async () => {
  const says = document.getElementById("door-says");
  const where = location.pathname + location.search;
  const token = location.hash.slice(1);
  let root = localStorage.getItem("root");
  if (token) {
    history.replaceState(null, "", where);
    try {
      const answer = await fetch("/enter", { method: "POST", body: token, headers: { "Content-Type": "text/plain" } });
      if (answer.ok) localStorage.setItem("root", (root = await answer.text()));
      else says.textContent = "This address was used already. The program prints a new one when its page is closed.";
    } catch {
      says.textContent = "The program does not answer any more.";
      return;
    }
  }
  if (root && !where.startsWith(`${root}/`)) location.replace(root + where);
})();
