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

  // A page whose rows have changed is asked for again, unless someone is
  // writing in it, or it was asked for a moment ago.
  const renew = () => {
    const nav = body.dataset.nav;
    if (nav !== "room" && nav !== "alerts" && !document.querySelector("[data-waits]")) return;
    if (document.querySelector("form.entry")) return;
    const last = Number(sessionStorage.getItem("renewed") || 0);
    if (Date.now() - last < 5000) return;
    sessionStorage.setItem("renewed", String(Date.now()));
    location.reload();
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

  // A second tap does nothing; the form's id makes it harmless anyway.
  for (const form of all("form[method=post]")) {
    form.addEventListener("submit", (event) => {
      if (form.dataset.sent) event.preventDefault();
      form.dataset.sent = "1";
      setTimeout(() => delete form.dataset.sent, 3000);
    });
  }
})();
