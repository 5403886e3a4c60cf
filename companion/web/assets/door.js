"use strict";
// Swaps the token of the address for a cookie. The fragment is taken off the address first, so that it is neither
// bookmarked nor seen over a shoulder.
(async () => {
  const token = location.hash.slice(1);
  if (!token) return;
  const says = document.getElementById("door-says");
  history.replaceState(null, "", location.pathname + location.search);
  try {
    const answer = await fetch("/enter", { method: "POST", body: token, headers: { "Content-Type": "text/plain" } });
    if (answer.ok) {
      location.reload();
      return;
    }
    says.textContent = "This address was used already. The program prints a new one when its page is closed.";
  } catch {
    says.textContent = "The program does not answer any more.";
  }
})();
