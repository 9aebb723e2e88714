/* What is drawn on the canvas of a plot besides its legs: dead time, limits, what is over, lanes. */
"use strict";

window.plotMarks = (() => {
  const { clipTo, drawFlags, write } = window.plotPaper;
  const ratio = () => window.devicePixelRatio || 1;
  const LANE = 36;
  const WORDS = 14;
  const LINE = 26;
  const LEFT = 46;
  const RIGHT = 36;

  function dead(u, chart, ink) {
    if (!chart.hatched) return;
    clipTo(u);
    for (const [from, to] of chart.dead) {
      const x = u.valToPos(from, "x", true);
      const width = Math.max(u.valToPos(to, "x", true) - x, 1);
      u.ctx.globalAlpha = 0.55;
      u.ctx.fillStyle = ink.patterns.hatch;
      u.ctx.fillRect(x, u.bbox.top, width, u.bbox.height);
      u.ctx.globalAlpha = 1;
      u.ctx.strokeStyle = ink.colours.pencil;
      u.ctx.strokeRect(x, u.bbox.top, width, u.bbox.height);
    }
    u.ctx.restore();
  }

  function over(u, chart, ink) {
    const { ctx } = u;
    const spots = [];
    clipTo(u);
    const [xs, ...legs] = u.data;
    let stretch = 0;
    for (let i = 0; i + 1 < xs.length; i += 1) {
      while (stretch + 1 < chart.limits.length && xs[i] >= chart.limits[stretch].to) stretch += 1;
      const limit = chart.limits[stretch].a;
      for (const leg of [0, 1]) {
        const value = legs[leg][i];
        if (Math.abs(value) <= limit) continue;
        const x = u.valToPos(xs[i], "x", true);
        spots.push(x);
        const width = Math.max(u.valToPos(xs[i + 1], "x", true) - x, 1.5 * ratio());
        const edge = u.valToPos(Math.sign(value) * limit, "y", true);
        const end = u.valToPos(value, "y", true);
        ctx.fillStyle = ink.colours.paper;
        ctx.fillRect(x, Math.min(edge, end), width, Math.abs(end - edge));
        ctx.fillStyle = leg === 0 ? ink.colours.red : ink.patterns.ruledRed;
        ctx.fillRect(x, Math.min(edge, end), width, Math.abs(end - edge));
        ctx.strokeStyle = ink.colours.red;
        ctx.lineWidth = ratio();
        ctx.strokeRect(x, Math.min(edge, end), width, Math.abs(end - edge));
      }
    }
    drawFlags(u, spots, ink.colours.red);
    ctx.restore();
  }

  function lines(u, chart, ink) {
    const { ctx } = u;
    const { colours } = ink;
    const scale = ratio();
    const say = (...words) => write(ctx, ...words, colours.paper);
    clipTo(u);
    const zero = u.valToPos(0, "y", true);
    ctx.lineWidth = 2.5 * scale;
    ctx.strokeStyle = colours.paper;
    ctx.beginPath(); ctx.moveTo(u.bbox.left, zero); ctx.lineTo(u.bbox.left + u.bbox.width, zero); ctx.stroke();
    ctx.lineWidth = scale;
    ctx.strokeStyle = colours.pencil;
    ctx.setLineDash([9 * scale, 2 * scale, 2 * scale, 2 * scale]);
    ctx.beginPath(); ctx.moveTo(u.bbox.left, zero); ctx.lineTo(u.bbox.left + u.bbox.width, zero); ctx.stroke();
    ctx.setLineDash([]);
    ctx.font = `${14.5 * scale}px ${ink.face}`;
    chart.worded = [];
    for (const limit of chart.limits) {
      const from = u.valToPos(limit.from, "x", true);
      const to = u.valToPos(limit.to, "x", true);
      if (to < u.bbox.left || from > u.bbox.left + u.bbox.width) continue;
      const beyond = limit.a > u.scales.y.max;
      const words = beyond ? `${limit.text}, above this scale` : limit.text;
      ctx.strokeStyle = colours.red;
      ctx.lineWidth = 1.5 * scale;
      for (const amps of [limit.a, -limit.a]) {
        const y = u.valToPos(amps, "y", true);
        ctx.beginPath(); ctx.moveTo(from, y); ctx.lineTo(to, y); ctx.stroke();
      }
      const left = Math.max(from, u.bbox.left) + 5 * scale;
      const right = Math.min(to, u.bbox.left + u.bbox.width);
      if (right - left > ctx.measureText(words).width + 8 * scale) {
        const y = beyond ? u.bbox.top : u.valToPos(limit.a, "y", true);
        const base = y - u.bbox.top < 18 * scale ? y + 15 * scale : y - 4 * scale;
        say(words, left, base, colours.red);
        const box = [left, left + ctx.measureText(words).width].map((at) => (at - u.bbox.left) / scale);
        chart.worded.push({ left: box[0] - 3, right: box[1] + 3, base: (base - u.bbox.top) / scale });
      }
    }
    ctx.font = `660 ${14.5 * scale}px ${ink.face}`;
    say("L1", u.bbox.left + 5 * scale, zero - 7 * scale, colours.ink);
    say("L2", u.bbox.left + 5 * scale, zero + 18 * scale, colours.ink);
    ctx.font = `${14.5 * scale}px ${ink.face}`;
    for (const [from, to] of chart.dead) {
      const left = Math.max(u.valToPos(from, "x", true), u.bbox.left);
      const right = Math.min(u.valToPos(to, "x", true), u.bbox.left + u.bbox.width);
      const across = ctx.measureText(chart.dead_word).width;
      if (right - left > across + 30 * scale) say(chart.dead_word, (left + right - across) / 2, zero + 5 * scale, colours.ink);
    }
    ctx.restore();
  }

  /* The line of the chosen minute is left out where it would cross a limit's words. */
  function leaveOut(now, left, worded) {
    const crossed = worded?.find((words) => left > words.left && left < words.right);
    now.classList.toggle("parted", Boolean(crossed));
    const gap = `${crossed?.base ?? 0}px`;
    if (now.style.getPropertyValue("--gap") !== gap) now.style.setProperty("--gap", gap);
  }

  /* Utility, generator and double-throws above the plots, on a canvas of their own. */
  function lanes(canvas, run, range, width, ink) {
    const scale = ratio();
    const height = LANE * run.lanes.length;
    const size = [Math.round(width * scale), Math.round(height * scale)];
    if (canvas.width !== size[0] || canvas.height !== size[1]) {
      [canvas.width, canvas.height] = size;
      canvas.style.height = `${height}px`;
    }
    const c = canvas.getContext("2d");
    const { colours } = ink;
    c.setTransform(scale, 0, 0, scale, 0, 0);
    c.clearRect(0, 0, width, height);
    c.font = `14.5px ${ink.face}`;
    const across = width - LEFT - RIGHT;
    const x = (t) => LEFT + Math.min(Math.max((t - range[0]) / (range[1] - range[0]), 0), 1) * across;
    run.lanes.forEach((lane, row) => {
      const y = row * LANE + LINE;
      c.strokeStyle = colours.ink;
      c.lineWidth = lane.style === "out" ? 4 : 1;
      c.beginPath(); c.moveTo(LEFT, y); c.lineTo(width - RIGHT, y); c.stroke();
      for (const [from, to] of lane.spans) {
        const length = x(to) - x(from);
        if (length < 0.5) continue;
        if (lane.style === "out") {
          c.fillStyle = colours.paper;
          c.fillRect(x(from), y - 6, length, 12);
          c.fillStyle = ink.patterns.hatch;
          c.fillRect(x(from), y - 5, length, 10);
          c.strokeStyle = colours.pencil;
          c.lineWidth = 0.75;
          c.strokeRect(x(from), y - 5, length, 10);
        } else {
          c.fillStyle = colours.ink;
          c.fillRect(x(from), y - 3, length, 6);
        }
      }
      c.fillStyle = colours.ink;
      c.fillText(lane.name, LEFT, row * LANE + WORDS);
    });
  }

  return { dead, over, lines, leaveOut, lanes, LEFT, RIGHT };
})();
