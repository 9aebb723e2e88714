/* Plots of a run: one for each bus, L1 up, L2 down, zoomed together; a click asks for a minute. */
"use strict";

(() => {
  const host = document.getElementById("plots");
  if (!host || !window.uPlot) return;
  const { clock, day, clipTo, limitAt } = window.plotPaper;
  const write = (...words) => window.plotPaper.write(...words, colours.paper);
  const chartsHost = host.querySelector("[data-charts]");
  const shown = host.querySelector("[data-shown]");
  const HEIGHT = 172;
  const LANE = 22;
  const AXIS = 46;
  let plots = [];
  let lanesCanvas = null;
  let data = null;
  let range = [0, 1];
  let chosen = 0;
  let colours = {};
  let patterns = {};
  let asked = 0;

  /* Local wall-clock times have no zone; arithmetic is done as if they were UTC. */
  const startMs = () => Date.parse(`${data.start}Z`);
  const wall = (seconds) => new Date(startMs() + seconds * 1000);
  const field = (seconds) => wall(seconds).toISOString().slice(0, data.step_s < 60 ? 19 : 16);
  const secondsOf = (text) => (Date.parse(`${text}Z`) - startMs()) / 1000;

  const label = (t) => {
    const d = wall(t);
    return d.getUTCHours() + d.getUTCMinutes() === 0 ? day(d) : clock(d);
  };

  function drawDead(u, chart) {
    clipTo(u);
    for (const [from, to] of chart.dead) {
      const x = u.valToPos(from, "x", true);
      const width = Math.max(u.valToPos(to, "x", true) - x, 1);
      u.ctx.globalAlpha = 0.55;
      u.ctx.fillStyle = patterns.hatch;
      u.ctx.fillRect(x, u.bbox.top, width, u.bbox.height);
      u.ctx.globalAlpha = 1;
      u.ctx.strokeStyle = colours.pencil;
      u.ctx.strokeRect(x, u.bbox.top, width, u.bbox.height);
    }
    u.ctx.restore();
  }

  function drawChosen(u) {
    const ratio = window.devicePixelRatio || 1;
    clipTo(u);
    const at = u.valToPos(chosen, "x", true);
    u.ctx.strokeStyle = colours.ink;
    u.ctx.lineWidth = 1.5 * ratio;
    u.ctx.beginPath(); u.ctx.moveTo(at, u.bbox.top); u.ctx.lineTo(at, u.bbox.top + u.bbox.height); u.ctx.stroke();
    u.ctx.restore();
  }

  /* A ring on each leg at the chosen minute, and its amps where there is room. */
  function drawRings(u, chart) {
    const ratio = window.devicePixelRatio || 1;
    const { ctx } = u;
    const at = u.valToPos(chosen, "x", true);
    if (chosen < range[0] || chosen > range[1]) return;
    clipTo(u);
    let i = u.data[0].findIndex((t) => t > chosen) - 1;
    if (i < 0) i = 0;
    for (const series of [1, 2]) {
      const value = u.data[series][i];
      if (!value) continue;
      const y = u.valToPos(value, "y", true);
      ctx.beginPath(); ctx.arc(at, y, 4 * ratio, 0, 7);
      ctx.fillStyle = colours.paper; ctx.fill();
      ctx.lineWidth = 1.5 * ratio; ctx.strokeStyle = colours.ink; ctx.stroke();
      const over = Math.abs(value) > limitAt(chart, chosen);
      write(ctx, Math.abs(value).toFixed(1), at + 8 * ratio, y + 5 * ratio, over ? colours.red : colours.ink);
    }
    ctx.restore();
  }

  function drawOver(u, chart) {
    const ratio = window.devicePixelRatio || 1;
    const { ctx } = u;
    const spots = [];
    clipTo(u);
    const xs = u.data[0];
    for (let i = 0; i + 1 < xs.length; i += 1) {
      if (xs[i + 1] < range[0] || xs[i] > range[1]) continue;
      for (const series of [1, 2]) {
        const value = u.data[series][i];
        const limit = limitAt(chart, xs[i]);
        if (value === null || Math.abs(value) <= limit) continue;
        const x = u.valToPos(xs[i], "x", true);
        spots.push(x);
        const width = Math.max(u.valToPos(xs[i + 1], "x", true) - x, 1.5 * ratio);
        const edge = u.valToPos(Math.sign(value) * limit, "y", true);
        const end = u.valToPos(value, "y", true);
        ctx.fillStyle = colours.paper;
        ctx.fillRect(x, Math.min(edge, end), width, Math.abs(end - edge));
        ctx.fillStyle = series === 1 ? colours.red : patterns.ruledRed;
        ctx.fillRect(x, Math.min(edge, end), width, Math.abs(end - edge));
        ctx.strokeStyle = colours.red;
        ctx.lineWidth = ratio;
        ctx.strokeRect(x, Math.min(edge, end), width, Math.abs(end - edge));
      }
    }
    window.plotPaper.drawFlags(u, spots, colours.red);
    ctx.restore();
  }

  function drawLines(u, chart) {
    const ratio = window.devicePixelRatio || 1;
    const { ctx } = u;
    clipTo(u);
    const zero = u.valToPos(0, "y", true);
    ctx.lineWidth = 2.5 * ratio;
    ctx.strokeStyle = colours.paper;
    ctx.beginPath(); ctx.moveTo(u.bbox.left, zero); ctx.lineTo(u.bbox.left + u.bbox.width, zero); ctx.stroke();
    ctx.lineWidth = ratio;
    ctx.strokeStyle = colours.pencil;
    ctx.setLineDash([9 * ratio, 2 * ratio, 2 * ratio, 2 * ratio]);
    ctx.beginPath(); ctx.moveTo(u.bbox.left, zero); ctx.lineTo(u.bbox.left + u.bbox.width, zero); ctx.stroke();
    ctx.setLineDash([]);
    ctx.font = `${14.5 * ratio}px ${getComputedStyle(document.body).fontFamily}`;
    for (const limit of chart.limits) {
      const from = u.valToPos(limit.from, "x", true);
      const to = u.valToPos(limit.to, "x", true);
      ctx.strokeStyle = colours.red;
      ctx.lineWidth = 1.5 * ratio;
      for (const a of [limit.a, -limit.a]) {
        const y = u.valToPos(a, "y", true);
        ctx.beginPath(); ctx.moveTo(from, y); ctx.lineTo(to, y); ctx.stroke();
      }
      const left = Math.max(from, u.bbox.left) + 5 * ratio;
      const right = Math.min(to, u.bbox.left + u.bbox.width);
      if (right - left > ctx.measureText(limit.text).width) {
        const y = u.valToPos(limit.a, "y", true);
        write(ctx, limit.text, left, y - u.bbox.top < 18 * ratio ? y + 15 * ratio : y - 4 * ratio, colours.red);
      }
    }
    write(ctx, "L1", u.bbox.left + 5 * ratio, zero - 7 * ratio, colours.ink);
    write(ctx, "L2", u.bbox.left + 5 * ratio, zero + 18 * ratio, colours.ink);
    for (const [from, to] of chart.dead) {
      const left = Math.max(u.valToPos(from, "x", true), u.bbox.left);
      const right = Math.min(u.valToPos(to, "x", true), u.bbox.left + u.bbox.width);
      if (right - left > 60 * ratio) write(ctx, "dead", (left + right) / 2 - 15 * ratio, zero + 5 * ratio, colours.ink);
    }
    ctx.restore();
  }

  const chartOf = (u, first) => u.chart ?? first;
  const series = (chart) => [chart.x, chart.l1, chart.l2.map((a) => -a)];

  function build() {
    for (const plot of plots) plot.destroy();
    plots = [];
    chartsHost.replaceChildren();
    ({ colours, patterns } = window.plotPaper.readColours(host));
    buildLanes();
    const font = `14.5px ${getComputedStyle(document.body).fontFamily}`;
    const sync = uPlot.sync("run");
    data.charts.forEach((chart, number) => {
      const head = document.createElement("p");
      head.className = "plotlabel";
      const mark = document.createElementNS("http://www.w3.org/2000/svg", "svg");
      mark.setAttribute("class", "busmark");
      mark.setAttribute("aria-hidden", "true");
      const use = document.createElementNS("http://www.w3.org/2000/svg", "use");
      use.setAttribute("href", `#bus-${chart.kind}`);
      mark.append(use);
      const out = document.createElement("output");
      head.append(mark, chart.name, out);
      chartsHost.append(head);
      const stepped = uPlot.paths.stepped({ align: 1 });
      const plot = new uPlot({
        width: chartsHost.clientWidth,
        height: HEIGHT,
        padding: [4, 36, 0, 0],
        legend: { show: false },
        scales: {
          x: { time: false, range: () => range },
          y: { range: () => [-chart.top, chart.top] },
        },
        axes: [
          { font, size: 24, gap: 4, stroke: colours["ink-2"], grid: { stroke: colours.hair, width: 1 }, ticks: { show: false },
            splits: () => window.plotPaper.timeTicks(...range, startMs(), chartsHost.clientWidth), values: (_, ticks) => ticks.map(label) },
          { font, size: AXIS, gap: 4, stroke: colours["ink-2"], grid: { stroke: colours.hair, width: 1 }, ticks: { show: false },
            values: (_, ticks) => ticks.map((t) => Math.abs(t)) },
        ],
        series: [
          {},
          { label: "L1", paths: stepped, points: { show: false }, width: 0, fill: () => colours.ink },
          { label: "L2", paths: stepped, points: { show: false }, width: 1, stroke: () => colours.leg2, fill: () => patterns.ruled },
        ],
        cursor: {
          y: false,
          points: { show: false },
          drag: { x: true, y: false, setScale: false },
          sync: { key: sync.key, setSeries: false },
        },
        hooks: {
          drawClear: [(u) => drawDead(u, chartOf(u, chart))],
          draw: [(u) => { drawChosen(u); drawOver(u, chartOf(u, chart)); drawLines(u, chartOf(u, chart)); drawRings(u, chartOf(u, chart)); }],
          setSelect: [(u) => {
            if (u.select.width < 6) return;
            const from = u.posToVal(u.select.left, "x");
            const to = u.posToVal(u.select.left + u.select.width, "x");
            u.setSelect({ left: 0, width: 0, top: 0, height: 0 }, false);
            show(from, to);
          }],
          setCursor: [(u) => {
            const i = u.cursor.idx;
            if (i === null || i === undefined || u.cursor.left < 0) { out.textContent = ""; return; }
            const t = u.data[0][i];
            out.textContent = `${clock(wall(t))}  L1 ${u.data[1][i].toFixed(1)} A, L2 ${Math.abs(u.data[2][i]).toFixed(1)} A`;
          }],
        },
      }, series(chart), chartsHost);
      plot.chart = chart;
      plot.over.addEventListener("click", (event) => {
        const box = plot.over.getBoundingClientRect();
        choose(plot.posToVal(event.clientX - box.left, "x"), chart.point);
      });
      plot.root.setAttribute("role", "img");
      plot.root.setAttribute("aria-label", `${chart.name}, amps over time, L1 above and L2 below the neutral`);
      plots[number] = plot;
    });
  }

  function buildLanes() {
    lanesCanvas = document.createElement("canvas");
    lanesCanvas.className = "lane";
    lanesCanvas.setAttribute("role", "img");
    lanesCanvas.setAttribute("aria-label", "Utility, generator and switch positions over time; the list of supply events holds the same");
    chartsHost.append(lanesCanvas);
    drawLanes();
  }

  function drawLanes() {
    if (!lanesCanvas) return;
    const ratio = window.devicePixelRatio || 1;
    const width = chartsHost.clientWidth;
    const height = LANE * data.lanes.length;
    lanesCanvas.width = width * ratio;
    lanesCanvas.height = height * ratio;
    lanesCanvas.style.height = `${height}px`;
    const c = lanesCanvas.getContext("2d");
    c.scale(ratio, ratio);
    c.font = `14.5px ${getComputedStyle(document.body).fontFamily}`;
    const x = (t) => AXIS + Math.min(Math.max((t - range[0]) / (range[1] - range[0]), 0), 1) * (width - AXIS - 36);
    data.lanes.forEach((lane, row) => {
      const y = row * LANE + LANE / 2;
      c.strokeStyle = colours.ink;
      c.lineWidth = lane.style === "out" ? 4 : 1;
      c.beginPath(); c.moveTo(AXIS, y); c.lineTo(width - 36, y); c.stroke();
      for (const [from, to] of lane.spans) {
        if (x(to) - x(from) < 0.5) continue;
        if (lane.style === "out") {
          c.fillStyle = colours.paper;
          c.fillRect(x(from), y - 6, x(to) - x(from), 12);
          c.fillStyle = patterns.hatch;
          c.fillRect(x(from), y - 5, x(to) - x(from), 10);
          c.strokeStyle = colours.pencil;
          c.lineWidth = 0.75;
          c.strokeRect(x(from), y - 5, x(to) - x(from), 10);
        } else {
          c.fillStyle = colours.ink;
          c.fillRect(x(from), y - 3, x(to) - x(from), 6);
        }
      }
      const words = lane.style === "out" && lane.spans.length ? "utility, hatched while out" : lane.name;
      c.lineJoin = "round";
      c.lineWidth = 6;
      c.strokeStyle = colours.paper;
      c.strokeText(words, AXIS + 8, y + 5);
      c.fillStyle = colours.ink;
      c.fillText(words, AXIS + 8, y + 5);
    });
  }

  function say() {
    const from = wall(range[0]);
    const to = wall(range[1]);
    shown.textContent = `${day(from)} ${clock(from)} to ${day(to)} ${clock(to)}`;
  }

  function redraw() {
    plots.forEach((plot, i) => { plot.chart = data.charts[i]; plot.setData(series(data.charts[i])); });
    drawLanes();
    say();
  }

  async function load(from, to) {
    const ticket = (asked += 1);
    const query = new URLSearchParams({ from_s: from, to_s: to, px: Math.max(chartsHost.clientWidth || 800, 300) });
    const answer = await fetch(`${host.dataset.src}?${query}`, { headers: { Accept: "application/json" } });
    if (!answer.ok || ticket !== asked) return null;
    return answer.json();
  }

  async function show(from, to) {
    const least = Math.max(data.step_s * 10, 600);
    const middle = (from + to) / 2;
    const half = Math.max(to - from, least) / 2;
    let [a, b] = [middle - half, middle + half];
    if (b - a >= data.span_s) [a, b] = [0, data.span_s];
    else if (a < 0) [a, b] = [0, b - a];
    else if (b > data.span_s) [a, b] = [a - (b - data.span_s), data.span_s];
    range = [a, b];
    const fresh = await load(a, b);
    if (fresh) data = fresh;
    redraw();
  }

  function choose(seconds, point) {
    const step = Math.min(Math.max(Math.floor(seconds / data.step_s) * data.step_s, 0), data.span_s - data.step_s);
    chosen = step;
    for (const plot of plots) plot.redraw(false);
    const inspector = document.getElementById("inspector");
    const query = new URLSearchParams({ at: field(step), point: point ?? inspector.dataset.point });
    history.replaceState(null, "", `${host.dataset.page}?${query}`);
    htmx.ajax("GET", `${host.dataset.minute}?${query}`, { target: "#inspector", swap: "outerHTML" });
  }

  host.addEventListener("click", (event) => {
    const how = event.target.dataset?.zoom;
    if (!how) return;
    const half = (range[1] - range[0]) / 2;
    if (how === "all") show(0, data.span_s);
    else if (how === "in") show(chosen - half / 2, chosen + half / 2);
    else show(range[0] - half, range[1] + half);
  });

  chartsHost.addEventListener("keydown", (event) => {
    const step = Math.max(60, data.step_s) * (event.shiftKey ? 15 : 1);
    if (event.key === "ArrowLeft") choose(chosen - step);
    else if (event.key === "ArrowRight") choose(chosen + step);
    else return;
    event.preventDefault();
  });

  /* The inspector's own buttons and fields move the line in the plots. */
  document.addEventListener("htmx:after:swap", () => {
    const inspector = document.getElementById("inspector");
    if (!inspector || !data) return;
    const at = secondsOf(inspector.dataset.at);
    if (at === chosen) return;
    chosen = at;
    if (at < range[0] || at > range[1]) show(at - (range[1] - range[0]) / 2, at + (range[1] - range[0]) / 2);
    else for (const plot of plots) plot.redraw(false);
  });

  let width = 0;
  new ResizeObserver(() => {
    if (!data || chartsHost.clientWidth === width || !chartsHost.clientWidth) return;
    width = chartsHost.clientWidth;
    for (const plot of plots) plot.setSize({ width, height: HEIGHT });
    drawLanes();
  }).observe(chartsHost);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => { if (data) { build(); say(); } });

  (async () => {
    host.hidden = false;
    const inspector = document.getElementById("inspector");
    data = await load(0, 1e9);
    if (!data) { host.hidden = true; return; }
    chosen = secondsOf(inspector.dataset.at);
    range = [0, data.span_s];
    if (data.span_s > 86400) {
      const from = [...data.days_s].reverse().find((d) => d <= chosen) ?? 0;
      const to = data.days_s.find((d) => d > chosen) ?? data.span_s;
      range = [from, to];
      data = (await load(from, to)) ?? data;
    }
    await document.fonts.ready;
    width = chartsHost.clientWidth;
    build();
    say();
    document.getElementById("drawn").hidden = true;
  })();
})();
