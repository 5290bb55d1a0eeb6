// Lets a clutch's record be looked at closer. Without it the page shows the
// server's own drawing of the same.
"use strict";
(() => {
  const pressed = document.querySelector(".units [aria-pressed=true]");
  const fahrenheit = Boolean(pressed && pressed.value === "F");
  const degrees = (c) => (fahrenheit ? c * 1.8 + 32 : c);
  const unit = fahrenheit ? "°F" : "°C";
  const told = (c) => (c == null ? "–" : c.toFixed(1).replace("-", "−") + " " + unit);
  const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue("--" + name).trim();
  const seconds = (text) => Date.parse(text) / 1000;
  const day = 86400;
  const steps = [600, 3600, 3 * 3600, 6 * 3600, 12 * 3600, day, 2 * day, 5 * day, 10 * day, 20 * day, 40 * day];
  const dashes = [[5, 3], [2, 3], [9, 3, 2, 3], [1, 2]];

  class Plot {
    constructor(figure) {
      this.figure = figure;
      this.laid = seconds(figure.dataset.laid);
      this.zone = figure.dataset.zone;
      this.title = figure.querySelector("svg").getAttribute("aria-label");
    }

    async open() {
      this.whole = await this.fetch("");
      if (!this.whole) return;
      this.now = this.whole;
      this.data = this.columns(this.whole);
      this.first = this.data[0][0];
      this.last = this.data[0][this.data[0].length - 1];
      this.build();
    }

    async fetch(part) {
      const points = Math.min(1600, Math.max(200, Math.round(this.figure.clientWidth)));
      const answer = await fetch(this.figure.dataset.plot + "&points=" + points + part).catch(() => null);
      if (!answer || !answer.ok) return null;
      const egg = (await answer.json()).eggs[0];
      return egg && egg.columns.length ? egg : null;
    }

    // columns puts everything on one line of times; a column that nothing was
    // read in has no value.
    columns(egg) {
      const width = egg.column_seconds, from = seconds(egg.from);
      const n = Math.round((seconds(egg.to) - from) / width);
      const x = Array.from({ length: n }, (_, i) => from + (i + 0.5) * width);
      const put = (list, key) => {
        const out = new Array(n).fill(null);
        for (const k of list) {
          const i = Math.round((seconds(k.time) - from) / width);
          if (i >= 0 && i < n) out[i] = degrees(k[key]);
        }
        return out;
      };
      const held = (list) => x.map((t) => {
        const l = list.find((s) => t >= s.from && t < s.to);
        return l ? degrees(l.celsius) : null;
      });
      const aims = egg.setpoints.map((p, i, all) => ({
        from: seconds(p.from), to: i + 1 < all.length ? seconds(all[i + 1].from) : Infinity, celsius: p.celsius,
      }));
      const limits = (high) => egg.limits.filter((l) => l.high === high)
        .map((l) => ({ from: seconds(l.from), to: seconds(l.to), celsius: l.celsius }));
      this.names = [];
      const probes = {};
      for (const p of egg.probes) {
        if (!probes[p.probe]) {
          probes[p.probe] = [];
          this.names.push(p.probe);
        }
        probes[p.probe].push(...(p.points || []));
      }
      this.width = width;
      return [x, put(egg.columns, "high_celsius"), put(egg.columns, "low_celsius"), put(egg.columns, "mean_celsius"),
        held(aims), held(limits(true)), held(limits(false)),
        ...this.names.map((name) => put(probes[name], "mean_celsius"))];
    }

    local(t) {
      try {
        return uPlot.tzDate(new Date(t * 1000), this.zone);
      } catch {
        return new Date(t * 1000);
      }
    }

    date(t) { return this.local(t).toLocaleDateString("en-GB", { day: "numeric", month: "short" }); }
    clock(t) {
      const d = this.local(t);
      return String(d.getHours()).padStart(2, "0") + ":" + String(d.getMinutes()).padStart(2, "0");
    }

    splits(u, _, min, max) {
      const step = steps.find((s) => (max - min) / s <= u.bbox.width / devicePixelRatio / 74) || steps[steps.length - 1];
      this.step = step;
      let zero = this.laid;
      if (step < day) {
        const d = this.local(min);
        zero = min - d.getHours() * 3600 - d.getMinutes() * 60 - d.getSeconds();
      }
      const out = [];
      for (let t = zero + Math.ceil((min - zero) / step) * step; t <= max; t += step) out.push(t);
      return out;
    }

    labels(_, list) {
      return list.map((t) => (this.step < day ? this.clock(t) : "day " + Math.round((t - this.laid) / day)) + "\n" + this.date(t));
    }

    // holes are stretches without values: more than half an hour and more than
    // three columns. A column narrower than the steps between readings is none.
    holes(u, series, from, to) {
      const x = u.data[0], y = u.data[series], least = Math.max(1800, 3 * this.width);
      const out = [];
      let before = null;
      for (let i = from; i <= to; i++) {
        if (y[i] == null) continue;
        if (before !== null && x[i] - x[before] > least) out.push([u.valToPos(x[before], "x", true), u.valToPos(x[i], "x", true)]);
        before = i;
      }
      return out;
    }

    line(label, name, more) {
      return {
        label, stroke: () => colour(name), width: 1.5, points: { show: false }, value: (_, v) => told(v),
        gaps: (u, s, from, to) => this.holes(u, s, from, to), ...more,
      };
    }

    options() {
      const stepped = uPlot.paths.stepped({ align: 1 });
      const axis = { stroke: () => colour("soft"), font: "13px system-ui, sans-serif", grid: { stroke: () => colour("rule"), width: 1 }, ticks: { stroke: () => colour("rule"), width: 1 } };
      return {
        width: this.figure.clientWidth, height: this.high(),
        tzDate: (t) => this.local(t),
        scales: { x: { time: true, auto: false, range: (_, min, max) => [min, max] }, y: { range: (u, min, max) => this.range(u, min, max) } },
        cursor: { drag: { x: true, y: false }, points: { show: false } },
        legend: { live: true },
        bands: [{ series: [1, 2], fill: () => colour("band") + "80" }],
        axes: [
          { ...axis, size: 46, splits: (...a) => this.splits(...a), values: (...a) => this.labels(...a) },
          { ...axis, size: 46, values: (_, list) => list.map((v) => String(Math.round(v * 10) / 10).replace("-", "−")) },
        ],
        series: [
          { label: "when", value: (_, t) => (t == null ? "–" : "day " + ((t - this.laid) / day).toFixed(1) + ", " + this.date(t) + " " + this.clock(t)) },
          this.line("highest", "band", { width: 1 }),
          this.line("lowest", "band", { width: 1 }),
          this.line("mean", "ink", { width: 1.8 }),
          this.line("setpoint", "soft", { paths: stepped }),
          this.line("upper limit", "warning-mark", { paths: stepped, dash: [2, 3], auto: false }),
          this.line("lower limit", "warning-mark", { paths: stepped, dash: [2, 3], auto: false }),
          ...this.names.map((name, i) => this.line(name, "soft", { width: 1.2, dash: dashes[i % dashes.length], show: this.names.length > 1 && i < 4 })),
        ],
        hooks: {
          drawClear: [(u) => this.under(u)],
          draw: [(u) => this.over(u)],
          setScale: [(u, key) => key === "x" && this.scaled()],
        },
      };
    }

    // range holds what was read and, where it lies near, a limit: one far off
    // would press the rest flat.
    range(u, min, max) {
      if (min == null) return [degrees(20), degrees(36)];
      const [from, to] = this.span(), near = fahrenheit ? 2.7 : 1.5, least = min, most = max;
      u.data[0].forEach((t, i) => {
        for (const s of [5, 6]) {
          const v = u.data[s][i];
          if (t >= from && t <= to && v != null && v > least - near && v < most + near) {
            min = Math.min(min, v);
            max = Math.max(max, v);
          }
        }
      });
      const pad = Math.max(0.2, (max - min) * 0.06);
      return [min - pad, max + pad];
    }

    high() { return innerWidth < 800 ? 320 : 380; }

    build() {
      const f = this.figure;
      this.plot = new uPlot(this.options(), this.data, (u, done) => {
        f.insertBefore(u.root, f.querySelector("figcaption"));
        done();
      });
      f.classList.add("plotted");
      this.show(this.first, this.last);
      this.bar();
      const over = this.plot.over;
      this.touch(over);
      over.addEventListener("wheel", (e) => this.wheel(e), { passive: false });
      over.addEventListener("dblclick", () => this.show(this.first, this.last));
      new ResizeObserver(() => this.plot.setSize({ width: f.clientWidth, height: this.high() })).observe(f);
      matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.plot.redraw(false, true));
    }

    // bar is for those who have no wheel and no two fingers free.
    bar() {
      const bar = document.createElement("div");
      bar.className = "plotbar";
      const button = (text, name, act) => {
        const b = document.createElement("button");
        b.type = "button";
        b.textContent = text;
        b.setAttribute("aria-label", name);
        b.addEventListener("click", act);
        bar.append(b);
      };
      button("‹", "Earlier", () => this.move(-0.4));
      button("›", "Later", () => this.move(0.4));
      button("+", "Closer", () => this.zoom(0.5));
      button("−", "Farther", () => this.zoom(2));
      button("All", "The whole record", () => this.show(this.first, this.last));
      this.told = document.createElement("output");
      bar.append(this.told);
      this.figure.insertBefore(bar, this.figure.querySelector("figcaption"));
      if (this.names.length > 1) {
        const foot = document.createElement("p");
        foot.className = "hint";
        foot.textContent = "Bars at the foot: when each probe’s readings counted, the first below. Tap a probe’s name to show or hide it.";
        bar.after(foot);
      }
      const root = this.plot.root;
      root.tabIndex = 0;
      root.setAttribute("role", "group");
      root.setAttribute("aria-label", this.title + " Arrow keys move, plus and minus zoom, 0 shows all. In words and numbers below.");
      root.addEventListener("keydown", (e) => {
        const act = {
          ArrowLeft: () => this.move(-0.2), ArrowRight: () => this.move(0.2), "+": () => this.zoom(0.5), "=": () => this.zoom(0.5),
          "-": () => this.zoom(2), 0: () => this.show(this.first, this.last), Home: () => this.show(this.first, this.last),
        }[e.key];
        if (!act || e.ctrlKey || e.metaKey || e.altKey) return;
        e.preventDefault();
        act();
      });
    }

    show(min, max) {
      const length = Math.min(this.last - this.first, Math.max(1800, max - min));
      min = Math.max(this.first, Math.min(min, this.last - length));
      this.shown = [min, min + length]; // the drawing follows a moment later
      this.plot.setScale("x", { min, max: min + length });
    }

    span() { return this.shown || [this.first, this.last]; }

    move(share) {
      const [min, max] = this.span(), by = (max - min) * share;
      this.show(min + by, max + by);
    }

    zoom(by, at) {
      const [min, max] = this.span(), middle = at ?? (min + max) / 2;
      this.show(middle - (middle - min) * by, middle + (max - middle) * by);
    }

    // scaled has what is shown read anew, finer, once it rests.
    scaled() {
      clearTimeout(this.waits);
      if (!this.plot) return;
      const { min, max } = this.plot.scales.x;
      if (min == null) return;
      this.shown = [min, max];
      const all = max - min > 0.98 * (this.last - this.first);
      if (this.told) this.told.textContent = all ? "" : this.date(min) + " " + this.clock(min) + " – " + this.date(max) + " " + this.clock(max);
      this.waits = setTimeout(async () => {
        if (all) return this.put(this.whole);
        const pad = (max - min) / 2;
        const part = await this.fetch("&from=" + this.stamp(min - pad) + "&to=" + this.stamp(max + pad));
        const [a, b] = this.span();
        if (part && a === min && b === max) this.put(part);
      }, 250);
    }

    stamp(t) { return new Date(t * 1000).toISOString().replace(/\.\d+/, ""); }

    put(egg) {
      if (egg === this.now) return;
      const shown = this.span(), names = this.names.join();
      const data = this.columns(egg);
      if (this.names.join() !== names) {
        // A part may know fewer probes: keep the places of all.
        const all = names.split(","), here = this.names;
        this.names = all;
        data.splice(7, data.length, ...all.map((n) => data[7 + here.indexOf(n)] || data[0].map(() => null)));
      }
      this.now = egg;
      this.plot.setData(data, false);
      this.plot.setScale("x", { min: shown[0], max: shown[1] });
      clearTimeout(this.waits);
    }

    // under is what lies below the lines: TSP, hatch window, gaps.
    under(u) {
      const { left, top, width, height } = u.bbox, ctx = u.ctx;
      const x = (t) => Math.min(left + width, Math.max(left, u.valToPos(seconds(t), "x", true)));
      const fill = (from, to, name, alpha) => {
        if (!from || !to) return;
        ctx.globalAlpha = alpha;
        ctx.fillStyle = colour(name);
        ctx.fillRect(x(from), top, Math.max(1, x(to) - x(from)), height);
        ctx.globalAlpha = 1;
      };
      ctx.save();
      ctx.fillStyle = colour("sheet");
      ctx.fillRect(left, top, width, height);
      const tsp = this.whole.tsp_span;
      if (tsp) {
        fill(tsp.opens.low, tsp.closes.high, "tsp", 0.5);
        fill(tsp.opens.likely, tsp.closes.likely, "tsp", 1);
        this.word(u, "TSP", tsp.opens.likely, top + height - (12 + 5 * this.names.length) * devicePixelRatio);
      }
      for (const g of this.now.gaps) fill(g.from, g.to, "rule", 1);
      ctx.restore();
    }

    word(u, text, at, y) {
      const x = u.valToPos(seconds(at), "x", true), { left, width } = u.bbox;
      if (x < left || x > left + width) return;
      u.ctx.fillStyle = colour("soft");
      u.ctx.font = 13 * devicePixelRatio + "px system-ui, sans-serif";
      u.ctx.textAlign = x > left + width * 0.8 ? "right" : "left";
      u.ctx.fillText(text, x + (x > left + width * 0.8 ? -4 : 4) * devicePixelRatio, y);
    }

    // over is what lies above: excursions, moves, which probe counted.
    over(u) {
      const { left, top, width, height } = u.bbox, ctx = u.ctx, px = devicePixelRatio;
      const x = (t) => u.valToPos(seconds(t), "x", true);
      ctx.save();
      ctx.beginPath();
      ctx.rect(left, top, width, height);
      ctx.clip();
      ctx.fillStyle = colour("danger");
      for (const e of this.now.excursions) {
        if (!e.brief) ctx.fillRect(x(e.from), top, Math.max(3 * px, x(e.to) - x(e.from)), 7 * px);
      }
      ctx.strokeStyle = colour("soft");
      ctx.setLineDash([3 * px, 3 * px]);
      for (const s of this.now.stays.slice(1)) {
        ctx.beginPath();
        ctx.moveTo(x(s.from), top);
        ctx.lineTo(x(s.from), top + height);
        ctx.stroke();
        this.word(u, s.box_name, s.from, top + 22 * px);
      }
      ctx.setLineDash([]);
      ctx.lineWidth = 3 * px;
      this.names.forEach((name, i) => {
        if (!u.series[7 + i] || !u.series[7 + i].show) return;
        ctx.strokeStyle = colour("ink");
        const y = top + height - (3 + 5 * i) * px;
        for (const p of this.now.probes.filter((q) => q.probe === name)) {
          for (const s of p.counted) {
            ctx.beginPath();
            ctx.moveTo(x(s.from), y);
            ctx.lineTo(x(s.to), y);
            ctx.stroke();
          }
        }
      });
      ctx.restore();
    }

    wheel(e) {
      if (!e.ctrlKey && !e.shiftKey) return;
      e.preventDefault();
      const by = e.deltaY || e.deltaX;
      if (e.shiftKey && !e.ctrlKey) return this.move(Math.sign(by) * 0.1);
      this.zoom(by > 0 ? 1.2 : 1 / 1.2, this.plot.posToVal(e.offsetX, "x"));
    }

    // touch: two fingers zoom, one moves what is zoomed; up and down is the
    // page's own.
    touch(over) {
      let began = null;
      const at = (e) => [...e.touches].slice(0, 2).map((t) => t.clientX - over.getBoundingClientRect().left);
      over.addEventListener("touchstart", (e) => {
        began = { fingers: at(e), span: this.span() };
      }, { passive: true });
      over.addEventListener("touchmove", (e) => {
        if (!began || began.fingers.length !== e.touches.length) return;
        const now = at(e), [min, max] = began.span, per = (max - min) / over.clientWidth;
        if (now.length === 1) {
          const by = (began.fingers[0] - now[0]) * per;
          if (max - min < 0.98 * (this.last - this.first)) this.show(min + by, max + by);
          return;
        }
        e.preventDefault();
        const wide = (f) => Math.max(20, Math.abs(f[0] - f[1]));
        const mid = (f) => (f[0] + f[1]) / 2;
        const length = (max - min) * wide(began.fingers) / wide(now);
        const held = min + mid(began.fingers) * per;
        const from = held - mid(now) / over.clientWidth * length;
        this.show(from, from + length);
      }, { passive: false });
      for (const kind of ["touchend", "touchcancel"]) {
        over.addEventListener(kind, (e) => { began = e.touches.length ? { fingers: at(e), span: this.span() } : null; });
      }
    }
  }

  for (const figure of document.querySelectorAll("figure[data-plot]")) {
    if (window.uPlot) new Plot(figure).open();
  }
})();
