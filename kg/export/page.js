// Filter, order, cover and show. Nothing leaves the page; the reader's notes stay in this browser, if it lets us keep them.
"use strict";
(() => {
  const body = document.body;
  const tools = document.querySelector(".tools");
  if (!tools) return;
  tools.hidden = false;
  const cards = [...document.querySelectorAll(".card")];
  const lists = [...document.querySelectorAll(".cards")];
  const count = document.getElementById("count");
  const all = document.getElementById("all");
  const fold = (text) => text.normalize("NFKD").replace(/[\u0300-\u036f]/g, "").toLowerCase();

  // --- cover and show ---
  // Each covered piece gets one button that stays where it is, so that the focus is never lost.
  const secrets = [...document.querySelectorAll(".secret")].map((piece, i) => {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "show gone";
    piece.id = piece.id || `p${i}`;
    button.setAttribute("aria-controls", piece.id);
    const name = piece.dataset.of.startsWith("names") && piece.dataset.what === "name";
    piece[name ? "after" : "before"](button);
    button.addEventListener("click", () => set(secret, button.getAttribute("aria-expanded") !== "true"));
    const secret = { piece, button, of: piece.dataset.of.split(" "), what: piece.dataset.what };
    return secret;
  });
  function set(secret, shown) {
    secret.piece.classList.toggle("covered", !shown);
    secret.button.setAttribute("aria-expanded", String(shown));
    const what = secret.what === "name" ? "the name" : secret.what;
    secret.button.textContent = shown ? "Hide" : `Show ${what}`;
    if (shown) {
      const extra = document.createElement("span");
      extra.className = "vh";
      extra.textContent = ` ${what}`;
      secret.button.append(extra);
    }
    label();
  }
  function cover(mode) {
    body.dataset.cover = mode;
    for (const secret of secrets) {
      const covered = secret.of.includes(mode);
      secret.button.classList.toggle("gone", !covered);
      if (covered) set(secret, false);
      else secret.piece.classList.remove("covered");
    }
    all.hidden = mode === "nothing";
    label();
  }
  const inPlay = () => secrets.filter((s) => s.of.includes(body.dataset.cover));
  function label() {
    all.textContent = inPlay().some((s) => s.piece.classList.contains("covered")) ? "Show all" : "Cover all again";
  }
  all.addEventListener("click", () => {
    const shown = all.textContent === "Show all";
    for (const secret of inPlay()) set(secret, shown);
  });
  for (const radio of document.querySelectorAll("input[name=cover]")) {
    radio.addEventListener("change", () => cover(radio.value));
  }
  // From a button the arrow keys go to the next or the last one that can be seen.
  document.getElementById("list").addEventListener("keydown", (event) => {
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (!step || !event.target.classList.contains("show")) return;
    const seen = [...document.querySelectorAll(".show")].filter((b) => b.offsetParent !== null);
    const next = seen[seen.indexOf(event.target) + step];
    if (next) {
      event.preventDefault();
      next.focus();
      next.scrollIntoView({ block: "nearest" });
    }
  });

  // --- filter ---
  const texts = new Map(cards.map((card) => [card, fold(card.textContent)]));
  const field = document.getElementById("filter");
  function filter() {
    const words = fold(field ? field.value : "").split(/\s+/).filter(Boolean);
    let shown = 0;
    for (const card of cards) {
      const fits = words.every((word) => texts.get(card).includes(word));
      card.classList.toggle("gone", !fits);
      shown += fits;
    }
    for (const section of document.querySelectorAll(".list")) {
      for (const heading of section.querySelectorAll(".group")) {
        heading.classList.toggle("gone", !heading.nextElementSibling.querySelector(".card:not(.gone)"));
      }
    }
    if (field) count.textContent = words.length ? `${shown} of ${cards.length} shown` : `${cards.length} in the list`;
  }
  if (field) field.addEventListener("input", filter);

  // --- order ---
  const given = new Map(lists.map((list) => [list, [...list.children]]));
  document.getElementById("order")?.addEventListener("change", (event) => {
    for (const list of lists) {
      const row = [...given.get(list)];
      if (event.target.value === "name") row.sort((a, b) => a.dataset.name.localeCompare(b.dataset.name, "en"));
      if (event.target.value === "shuffled") {
        for (let i = row.length - 1; i > 0; i--) {
          const j = Math.floor(Math.random() * (i + 1));
          [row[i], row[j]] = [row[j], row[i]];
        }
      }
      list.append(...row);
    }
  });

  // --- the reader's own notes ---
  const key = (area) => `boxlock-notes-${body.dataset.key}-${area.closest(".card").dataset.name}`;
  for (const area of document.querySelectorAll("textarea")) {
    try {
      area.value = localStorage.getItem(key(area)) || "";
      area.addEventListener("input", () => localStorage.setItem(key(area), area.value));
    } catch {
      break; // the browser keeps nothing for files: the notes last as long as the page is open
    }
  }

  cover(body.dataset.cover);
  filter();
})();
