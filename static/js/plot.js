/* Plots of a run: one for each bus, L1 up, L2 down, zoomed together; a click asks for a minute. */
"use strict";

(() => {
  const host = document.getElementById("plots");
  if (!host || !window.uPlot) return;
  const { clock, day, limitAt, timeTicks } = window.plotPaper;
  const marks = window.plotMarks;
  const shown = document.querySelector("[data-shown]");
  const tools = document.querySelectorAll("[data-zoom]");
  const HEIGHT = 172;
  const sync = uPlot.sync("run");
  let run = null;
  let plots = [];
  let lanes = null;
  let range = [Number(host.dataset.from), Number(host.dataset.to)];
  let chosen = 0;
  let ink = null;
  let waiting = false;
  let width = 0; // kept: to ask an element for it in the middle of drawing lays the page out anew

  /* Local wall-clock times have no zone; arithmetic is done as if they were UTC. */
  const startMs = () => Date.parse(`${run.start}Z`);
  const wall = (seconds) => new Date(startMs() + seconds * 1000);
  const field = (seconds) => wall(seconds).toISOString().slice(0, run.step_s < 60 ? 19 : 16);
  const secondsOf = (text) => (Date.parse(`${text}Z`) - startMs()) / 1000;
  const label = (t) => {
    const d = wall(t);
    return d.getUTCHours() + d.getUTCMinutes() === 0 ? day(d) : clock(d);
  };
  const inspector = () => document.getElementById("inspector");
  const pixels = () => Math.max(width - marks.LEFT - marks.RIGHT, 50);

  /* --- building ----------------------------------------------------------------------------- */

  function head(chart) {
    const made = document.createElement("p");
    made.className = "plotlabel";
    const mark = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    mark.setAttribute("class", "busmark");
    mark.setAttribute("aria-hidden", "true");
    const use = document.createElementNS("http://www.w3.org/2000/svg", "use");
    use.setAttribute("href", `#bus-${chart.kind}`);
    mark.append(use);
    made.append(mark, chart.name, document.createElement("output"));
    return made;
  }

  function axis(size, rest) {
    return {
      font: `14.5px ${ink.face}`, size, gap: 4, stroke: ink.colours["ink-2"],
      grid: { stroke: ink.colours.hair, width: 1 }, ticks: { show: false }, ...rest,
    };
  }

  function options(chart, said) {
    const stepped = uPlot.paths.stepped({ align: 1 });
    return {
      width,
      height: HEIGHT,
      padding: [4, marks.RIGHT, 0, 0],
      legend: { show: false },
      scales: { x: { time: false, range: () => range }, y: { range: () => topOf(chart) } },
      axes: [
        axis(24, { splits: () => timeTicks(...range, startMs(), width), values: (_, at) => at.map(label) }),
        axis(marks.LEFT, { values: (_, at) => at.map((t) => Math.abs(t)) }),
      ],
      series: [
        {},
        { label: "L1", paths: stepped, points: { show: false }, width: 0, fill: () => ink.colours.ink },
        { label: "L2", paths: stepped, points: { show: false }, width: 1, stroke: () => ink.colours.leg2, fill: () => ink.patterns.ruled },
      ],
      cursor: { y: false, points: { show: false }, drag: { x: true, y: false, setScale: false }, sync: { key: sync.key, setSeries: false } },
      hooks: {
        drawClear: [(u) => marks.dead(u, chart, ink)],
        draw: [(u) => {
          marks.over(u, chart, ink);
          marks.lines(u, chart, ink);
          const now = u.over.querySelector(".plotnow");
          if (now) marks.leaveOut(now, u.valToPos(chosen + run.step_s / 2, "x"), chart.worded);
        }],
        setSelect: [zoomTo],
        setCursor: [(u) => {
          const left = u.cursor.left ?? -1;
          said.textContent = left < 0 ? "" : words(chart, stepAt(u.posToVal(left, "x")));
        }],
      },
    };
  }

  function stepAt(seconds) {
    return Math.min(Math.max(Math.floor(seconds / run.step_s), 0), run.steps - 1);
  }

  function words(chart, step) {
    return `${clock(wall(step * run.step_s))}  L1 ${chart.l1[step].toFixed(1)} A, L2 ${chart.l2[step].toFixed(1)} A`;
  }

  function zoomTo(u) {
    if (u.select.width < 6) return;
    const from = u.posToVal(u.select.left, "x");
    const to = u.posToVal(u.select.left + u.select.width, "x");
    u.setSelect({ left: 0, width: 0, top: 0, height: 0 }, false);
    show(from, to);
  }

  function addPlot(chart) {
    const title = head(chart);
    host.append(title);
    if (chart.never) {
      const words = Object.assign(document.createElement("span"), { textContent: chart.dead_word });
      const line = Object.assign(document.createElement("p"), { className: "never" });
      line.append(words);
      host.append(line);
      return;
    }
    const plot = new uPlot(options(chart, title.querySelector("output")), cutOf(chart), host);
    plot.root.setAttribute("role", "img");
    plot.root.setAttribute("aria-label", `${chart.name}, amps over time, L1 above and L2 below the neutral`);
    const now = document.createElement("div");
    now.className = "plotnow";
    const rings = ["plotring above", "plotring below"].map((className) =>
      Object.assign(document.createElement("div"), { className }));
    plot.over.append(now, ...rings);
    plot.over.addEventListener("click", (event) => {
      choose(plot.posToVal(event.clientX - plot.over.getBoundingClientRect().left, "x"), chart.point);
    });
    plot.over.addEventListener("wheel", (event) => wheel(event, plot), { passive: false });
    plots.push({ plot, chart, now, rings });
  }

  function topOf(chart) {
    const top = window.plotData.top(run, chart, ...range);
    return [-top, top];
  }

  const cutOf = (chart) => window.plotData.cut(run, chart, ...range, pixels());

  function build() {
    for (const { plot } of plots) plot.destroy();
    plots = [];
    host.replaceChildren();
    ink = { ...window.plotPaper.readColours(host), face: getComputedStyle(document.body).fontFamily };
    lanes = document.createElement("canvas");
    lanes.className = "lane";
    lanes.setAttribute("role", "img");
    lanes.setAttribute("aria-label", "Utility, generator and switch positions over time; the list of supply events holds the same");
    host.append(lanes);
    run.charts.forEach(addPlot);
    marks.lanes(lanes, run, range, width, ink);
    requestAnimationFrame(place);
    say();
  }

  /* --- showing ------------------------------------------------------------------------------ */

  /* However many wheel turns or keys arrive, the plots are drawn once a frame. */
  function redraw() {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => {
      waiting = false;
      for (const { plot, chart } of plots) plot.setData(cutOf(chart));
      marks.lanes(lanes, run, range, width, ink);
      place();
      say();
      remember();
    });
  }

  /* The chosen minute: a line over each plot, a ring and its amps on each leg. Nothing is redrawn. */
  function place() {
    const inside = chosen >= range[0] && chosen < range[1];
    const step = stepAt(chosen);
    for (const { plot, chart, now, rings } of plots) {
      const left = plot.valToPos(chosen + run.step_s / 2, "x");
      now.hidden = !inside;
      now.style.left = `${left}px`;
      marks.leaveOut(now, left, chart.worded);
      rings.forEach((ring, leg) => {
        const amps = (leg === 0 ? chart.l1 : chart.l2)[step];
        ring.hidden = !inside || amps < 0.05;
        ring.style.left = `${left}px`;
        ring.style.top = `${plot.valToPos(leg === 0 ? amps : -amps, "y")}px`;
        ring.dataset.a = amps.toFixed(1);
        ring.classList.toggle("left", left > pixels() - 60);
        ring.classList.toggle("over", amps > limitAt(chart, chosen));
      });
    }
  }

  function say() {
    const [from, to] = range.map(wall);
    shown.textContent = `${day(from)} ${from.getUTCFullYear()} ${clock(from)} to ${day(to)} ${clock(to)}`;
    const whole = range[0] <= 0 && range[1] >= run.span_s;
    for (const tool of tools) {
      const idle = { out: whole, all: whole, earlier: range[0] <= 0, later: range[1] >= run.span_s };
      tool.toggleAttribute("aria-disabled", false);
      if (idle[tool.dataset.zoom]) tool.setAttribute("aria-disabled", "true");
    }
  }

  let remembering = 0;
  function remember() {
    clearTimeout(remembering);
    remembering = setTimeout(() => {
      const query = new URLSearchParams(location.search);
      const step = run.step_s >= 60 ? 60 : run.step_s;
      const round = (seconds) => field(Math.round(seconds / step) * step);
      query.set("at", field(chosen));
      query.set("point", inspector().dataset.point);
      query.set("from", round(range[0]));
      query.set("to", round(range[1]));
      history.replaceState(null, "", `${host.dataset.page}?${query}`);
    }, 300);
  }

  function show(from, to) {
    const least = Math.min(Math.max(run.step_s * 10, 600), run.span_s);
    const length = Math.min(Math.max(to - from, least), run.span_s);
    const first = Math.min(Math.max((from + to - length) / 2, 0), run.span_s - length);
    range = [first, first + length];
    redraw();
  }

  function zoom(share, about) {
    const middle = about ?? (chosen >= range[0] && chosen < range[1] ? chosen : (range[0] + range[1]) / 2);
    show(middle - (middle - range[0]) * share, middle + (range[1] - middle) * share);
  }

  function pan(share) {
    const by = (range[1] - range[0]) * share;
    show(range[0] + by, range[1] + by);
  }

  function wheel(event, plot) {
    const across = event.shiftKey || Math.abs(event.deltaX) > Math.abs(event.deltaY);
    if (!event.ctrlKey && !event.metaKey && !across) return;
    event.preventDefault();
    if (across) { pan((event.deltaX || event.deltaY) / 800); return; }
    const left = event.clientX - plot.over.getBoundingClientRect().left;
    zoom(Math.exp(Math.min(Math.max(event.deltaY, -100), 100) / 250), plot.posToVal(left, "x"));
  }

  const WAYS = {
    in: () => zoom(0.5),
    out: () => zoom(2),
    earlier: () => pan(-0.5),
    later: () => pan(0.5),
    all: () => show(0, run.span_s),
  };

  function choose(seconds, point) {
    chosen = stepAt(seconds) * run.step_s;
    place();
    remember();
    const query = new URLSearchParams({ at: field(chosen), point: point ?? inspector().dataset.point });
    htmx.ajax("GET", `${host.dataset.minute}?${query}`, { target: "#inspector", swap: "outerHTML" });
  }

  /* --- hands -------------------------------------------------------------------------------- */

  for (const tool of tools) {
    tool.addEventListener("click", (event) => {
      if (!run) return;
      event.preventDefault();
      if (!tool.hasAttribute("aria-disabled")) WAYS[tool.dataset.zoom]();
    });
  }

  host.addEventListener("keydown", (event) => {
    if (!run || event.altKey || event.ctrlKey || event.metaKey) return;
    const step = Math.max(60, run.step_s) * (event.shiftKey ? 15 : 1);
    const keys = {
      ArrowLeft: () => choose(chosen - step),
      ArrowRight: () => choose(chosen + step),
      "+": WAYS.in, "=": WAYS.in, "-": WAYS.out, "\u2212": WAYS.out, 0: WAYS.all,
      PageUp: WAYS.earlier, PageDown: WAYS.later,
    };
    if (!keys[event.key]) return;
    event.preventDefault();
    keys[event.key]();
  });

  /* The inspector's own buttons and fields move the line in the plots. */
  document.addEventListener("htmx:after:swap", () => {
    if (!inspector() || !run) return;
    const at = secondsOf(inspector().dataset.at);
    if (at === chosen) return;
    chosen = at;
    if (at < range[0] || at >= range[1]) show(at - (range[1] - range[0]) / 2, at + (range[1] - range[0]) / 2);
    else place();
    remember();
  });

  new ResizeObserver(() => {
    if (!run || !plots.length || host.clientWidth === width || !host.clientWidth) return;
    width = host.clientWidth;
    for (const { plot } of plots) plot.setSize({ width, height: HEIGHT });
    redraw();
  }).observe(host);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => { if (run) build(); });

  window.addEventListener("load", async () => {
    try {
      [run] = await Promise.all([window.plotData.load(host.dataset.src), document.fonts.ready]);
    } catch {
      return; // the plots drawn by the server stay
    }
    chosen = secondsOf(inspector().dataset.at);
    host.tabIndex = 0;
    host.setAttribute("role", "group");
    host.setAttribute("aria-label", "Plots of amps; arrow keys step the minute. The tables below hold the same figures.");
    width = host.clientWidth;
    build();
    host.parentElement.parentElement.classList.add("scripted");
  });
})();
