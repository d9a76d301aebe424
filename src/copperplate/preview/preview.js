(() => {
  const shown = document.currentScript.dataset.state;
  const changes = new EventSource("changes");
  const strip = document.querySelector(".findings");
  let ended = null;
  changes.onmessage = (event) => {
    if (ended) { ended.remove(); ended = null; }
    if (event.data !== shown) location.reload();
  };
  changes.onerror = () => {
    if (ended) return;
    ended = document.createElement("p");
    ended.className = "ended";
    ended.setAttribute("role", "status");
    ended.textContent = "The preview has ended; this is what it showed last.";
    strip.prepend(ended);
  };
})();
