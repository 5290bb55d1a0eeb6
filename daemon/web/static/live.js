// Keeps an open page's numbers those of the last tick. Pages work without it.
"use strict";
(() => {
  const body = document.body;
  const all = (key) => document.querySelectorAll(key);
  const put = (name, text) => {
    for (const e of all("[data-live]")) {
      if (e.dataset.live === name && e.textContent !== text) e.textContent = text;
    }
  };
  const banner = (name, on) => {
    const b = document.querySelector("[data-" + name + "]");
    if (b) b.hidden = !on;
  };

  // A page whose rows have changed is made anew in place, unless someone is
  // writing in it, has a finger on it, or it was made a moment ago: what is
  // about to be tapped must not move.
  let touched = 0;
  for (const kind of ["pointerdown", "keydown", "scroll"]) {
    addEventListener(kind, () => { touched = Date.now(); }, { passive: true, capture: true });
  }
  const busy = () => document.querySelector("form.entry, .shelf[open]") ||
    document.activeElement.matches("input, select, textarea") ||
    Date.now() - touched < 2000 || Date.now() - Number(sessionStorage.getItem("renewed") || 0) < 5000;
  const mark = (e) => [e.tagName, e.id, e.getAttribute("href"), e.form && e.form.getAttribute("action"), e.name, e.value].join("|");
  const things = "a[href], button, summary";

  const renew = async () => {
    const nav = body.dataset.nav;
    if (nav !== "room" && nav !== "alerts" && nav !== "wall" && !document.querySelector("[data-waits]")) return;
    if (busy()) return;
    sessionStorage.setItem("renewed", String(Date.now()));
    const answer = await fetch(location.href).catch(() => null);
    if (!answer || !answer.ok || answer.redirected) return location.reload();
    const next = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (!next.getElementById("main") || busyNow()) return;
    const focused = mark(document.activeElement);
    const open = [...all(".each[open]")].map((e) => e.dataset.each);
    document.getElementById("main").replaceWith(next.getElementById("main"));
    body.dataset.structure = next.body.dataset.structure;
    for (const e of all(".each")) e.open = open.includes(e.dataset.each);
    const same = [...document.querySelectorAll("#main :is(" + things + ")")].find((e) => mark(e) === focused);
    if (same) same.focus({ preventScroll: true });
    clock();
  };
  const busyNow = () => document.querySelector(".shelf[open]") || Date.now() - touched < 500;

  // What is told anew is read out, to whom a screen is read; not what was there
  // when the page was opened.
  let known = null;
  const announce = (news) => {
    const fresh = known ? news.filter((n) => !known.has(n.occurrence)) : [];
    known = new Set(news.map((n) => n.occurrence));
    const at = document.querySelector("[data-news]");
    if (at && fresh.length) at.textContent = fresh.slice(0, 3).map((n) => n.text).join(" ");
  };

  let heard = Date.now();
  let late = false;
  const take = (event) => {
    const news = JSON.parse(event.data);
    heard = Date.now();
    late = Boolean(news.late);
    put("now", news.now);
    put("late", news.late || "");
    banner("late", late);
    for (const e of all("[data-live]")) {
      const text = news.text[e.dataset.live];
      if (text !== undefined && e.textContent !== text) e.textContent = text;
    }
    for (const e of all("[data-state-of]")) {
      const state = news.state[e.dataset.stateOf];
      if (state) e.dataset.state = state;
    }
    for (const e of all("[data-x]")) {
      const x = news.x[e.dataset.x];
      if (x) e.setAttribute("cx", x);
    }
    announce(news.news || []);
    if (body.dataset.structure && news.structure !== body.dataset.structure) renew();
    look();
  };

  // Silence is told: after a minute without news the numbers are old.
  const look = () => {
    const apart = Date.now() - heard > 60000;
    if (apart) put("apart", new Date(heard).toLocaleTimeString());
    banner("apart", apart);
    body.classList.toggle("old", apart || late);
  };

  if (body.dataset.structure && window.EventSource) {
    new EventSource("/events").addEventListener("tick", take);
    setInterval(look, 5000);
  }

  // The phone's own time, when the clock is to be set by it.
  const clock = () => {
    for (const form of all("form[data-clock]")) {
      const input = form.elements.now;
      form.querySelector("label").hidden = true;
      input.required = false;
      form.querySelector("button").textContent = "Take the time of this device";
      form.addEventListener("submit", () => {
        input.type = "text";
        input.value = new Date().toISOString();
      });
    }
  };
  clock();

  // A second tap does nothing; the form's id makes it harmless anyway.
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.method !== "post") return;
    if (form.dataset.sent) event.preventDefault();
    form.dataset.sent = "1";
    setTimeout(() => delete form.dataset.sent, 3000);
  });

  // A list narrows while one types; without a script the button does it.
  const find = document.querySelector("input[data-find]");
  if (find) {
    const lines = [...all(find.dataset.find)];
    find.addEventListener("input", () => {
      const want = find.value.trim().toLowerCase();
      for (const e of lines) e.hidden = !e.dataset.name.toLowerCase().includes(want);
      for (const e of all(".rack")) e.hidden = !e.querySelector("li:not([hidden])");
    });
  }
})();
