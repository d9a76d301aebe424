"use strict";
(() => {
  const all = (selector, root = document) => Array.from(root.querySelectorAll(selector));
  const places = new Map();
  for (const element of all("[data-at]")) {
    const at = element.dataset.at;
    if (!places.has(at)) places.set(at, { rows: [], marks: [] });
    places.get(at)[element.tagName.toLowerCase() === "tr" ? "rows" : "marks"].push(element);
  }

  const strip = document.createElement("div");
  strip.className = "strip";
  strip.hidden = true;
  strip.setAttribute("aria-hidden", "true");
  document.body.append(strip);
  let lit = "";

  const seen = (element) => {
    const box = element.getBoundingClientRect();
    return box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth;
  };

  const showStrip = (at, mark, row) => {
    const sheet = mark.closest(".sheet");
    const drawing = sheet && sheet.querySelector("svg");
    if (!drawing || typeof mark.getBBox !== "function") return;
    const box = mark.getBBox();
    if (!box.width && !box.height) return;
    const whole = drawing.viewBox.baseVal;
    const width = Math.min(whole.width, Math.max(150, box.width + 24));
    const height = width * 96 / Math.max(320, strip.clientWidth || 720);
    const x = Math.max(0, Math.min(whole.width - width, box.x + box.width / 2 - width / 2));
    const y = Math.max(0, Math.min(whole.height - height, box.y + box.height / 2 - height / 2));
    const words = document.createElement("p");
    const title = mark.querySelector("title");
    words.textContent = `${sheet.querySelector("figcaption").firstChild.textContent}, at ${title ? title.textContent : at}`;
    const copy = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    copy.setAttribute("viewBox", `${x} ${y} ${width} ${height}`);
    const use = document.createElementNS("http://www.w3.org/2000/svg", "use");
    use.setAttribute("href", `#${drawing.id}`);
    use.setAttribute("width", whole.width);
    use.setAttribute("height", whole.height);
    copy.append(use);
    strip.replaceChildren(words, copy);
    strip.classList.toggle("top", row.getBoundingClientRect().top > innerHeight / 2);
    strip.hidden = false;
  };

  const light = (at, row) => {
    if (at === lit) return;
    dim();
    const place = places.get(at);
    if (!place) return;
    lit = at;
    for (const element of [...place.rows, ...place.marks]) element.classList.add("lit");
    if (row && place.marks.length && !place.marks.some(seen)) showStrip(at, place.marks[0], row);
  };

  const dim = () => {
    const place = places.get(lit);
    if (place) for (const element of [...place.rows, ...place.marks]) element.classList.remove("lit");
    lit = "";
    strip.hidden = true;
  };

  const over = (event) => {
    const element = event.target.closest("[data-at]") || event.target.querySelector?.(":scope > [data-at]");
    if (element) light(element.dataset.at, element.closest("tr"));
    else if (!event.target.closest(".strip")) dim();
  };
  document.addEventListener("pointerover", over);
  document.addEventListener("focusin", over);
  document.addEventListener("keydown", (event) => { if (event.key === "Escape") dim(); });

  all(".sheet").forEach((sheet, place) => {
    const paper = sheet.querySelector(".paper");
    const drawing = paper.querySelector("svg");
    if (!drawing) return;
    if (!drawing.id) drawing.id = `drawing-${place + 1}`;
    let zoom = 100;
    const button = (words, step) => {
      const element = document.createElement("button");
      element.type = "button";
      element.textContent = words;
      element.addEventListener("click", () => {
        zoom = step ? Math.min(400, Math.max(100, zoom + step)) : 100;
        paper.classList.toggle("zoomed", zoom > 100);
        paper.style.setProperty("--zoom", `${zoom}%`);
      });
      sheet.querySelector("figcaption").append(element);
    };
    button("Larger", 50);
    button("Smaller", -50);
    button("Whole sheet", 0);
  });

  // Tabs: a document at a time, by the link that names it or anything in it.
  const docs = all(".doc");
  const open = (name) => {
    const target = name && document.getElementById(decodeURIComponent(name));
    const doc = (target && target.closest(".doc")) || docs.find((each) => each.classList.contains("open")) || docs[0];
    for (const each of docs) each.classList.toggle("open", each === doc);
    for (const link of all(".bar nav a")) {
      if (doc && link.hash === `#${doc.dataset.reader}`) link.setAttribute("aria-current", "page");
      else link.removeAttribute("aria-current");
    }
    if (target && target.matches("h2")) scrollTo(0, 0);
    else if (target) target.scrollIntoView();
  };
  if (docs.length) {
    document.body.classList.add("tabs");
    open(location.hash.slice(1));
    addEventListener("hashchange", () => open(location.hash.slice(1)));
  }

  // What is ticked and written stays on this device, and leaves it as a list.
  const pack = document.body.dataset.pack;
  const inputs = all("tr[data-key] input");
  const keyOf = (input) => {
    const row = input.closest("tr");
    return `${pack}|${row.dataset.key}|${Array.from(row.cells).indexOf(input.closest("td"))}`;
  };
  const kept = { get: (key) => { try { return localStorage.getItem(key); } catch { return null; } },
    set: (key, value) => { try { localStorage.setItem(key, value); } catch { /* this browser keeps nothing */ } } };
  for (const input of inputs) {
    const value = kept.get(keyOf(input));
    if (value !== null) { if (input.type === "checkbox") input.checked = value === "1"; else input.value = value; }
    input.addEventListener("change", () => kept.set(keyOf(input), input.type === "checkbox" ? (input.checked ? "1" : "0") : input.value));
  }
  const cell = (text) => (/^[=+\-@]/.test(text) && !/^-?[\d.]+$/.test(text) ? "'" : "") + text;
  const quoted = (text) => (/[",\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
  const save = () => {
    const lines = ["id,done,measured"];
    for (const row of all("tr[data-key]")) {
      const box = row.querySelector("input[type=checkbox]"), blank = row.querySelector("input[data-measured]");
      lines.push([row.dataset.key, box && box.checked ? "yes" : "", blank ? cell(blank.value.trim().replace(",", ".")) : ""].map(quoted).join(","));
    }
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([lines.join("\n") + "\n"], { type: "text/csv" }));
    link.download = "measured.csv";
    link.click();
    URL.revokeObjectURL(link.href);
  };
  for (const section of new Set(inputs.map((input) => input.closest("section")))) {
    if (!section) continue;
    const button = document.createElement("button");
    button.type = "button";
    button.className = "tool";
    button.textContent = "Save ticks and values as CSV";
    button.addEventListener("click", save);
    const tools = document.createElement("div");
    tools.className = "tools";
    tools.append(button);
    section.querySelector("h3").after(tools);
  }
})();
