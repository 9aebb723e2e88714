/* What every plot of a run draws with: colours and patterns, clock words, marks on the canvas. */
"use strict";

window.plotPaper = (() => {
  /* The tokens use light-dark(), so a colour is read off an element that uses it. */
  function readColours(host) {
    const colours = {};
    const probe = document.createElement("span");
    host.append(probe);
    for (const name of ["ink", "ink-2", "leg2", "pencil", "paper", "hair", "red"]) {
      probe.style.color = `var(--${name})`;
      colours[name] = getComputedStyle(probe).color;
    }
    probe.remove();
    const patterns = {
      ruled: ruled(colours.leg2),
      ruledRed: ruled(colours.red),
      hatch: hatch(colours.pencil),
    };
    return { colours, patterns };
  }

  function tile(width, height, draw) {
    const canvas = document.createElement("canvas");
    const ratio = window.devicePixelRatio || 1;
    canvas.width = Math.round(width * ratio);
    canvas.height = Math.round(height * ratio);
    const context = canvas.getContext("2d");
    context.scale(ratio, ratio);
    draw(context);
    return document.createElement("canvas").getContext("2d").createPattern(canvas, "repeat");
  }

  function ruled(colour) {
    return tile(4, 3, (c) => { c.fillStyle = colour; c.fillRect(0, 0.75, 4, 1.5); });
  }

  function hatch(colour) {
    return tile(8, 8, (c) => {
      c.strokeStyle = colour;
      c.lineWidth = 1;
      c.beginPath();
      for (const at of [-8, 0, 8]) { c.moveTo(at, 8); c.lineTo(at + 8, 0); }
      c.stroke();
    });
  }

  const two = (n) => String(n).padStart(2, "0");
  const DAYS = ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"];
  const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
  const clock = (d) => `${two(d.getUTCHours())}:${two(d.getUTCMinutes())}`;
  const day = (d) => `${DAYS[d.getUTCDay()]} ${d.getUTCDate()} ${MONTHS[d.getUTCMonth()]}`;

  function timeTicks(from, to, startMs, width) {
    const hours = (to - from) / 3600;
    const steps = [1 / 12, 0.25, 0.5, 1, 2, 3, 6, 12, 24, 48];
    const room = width < 500 ? 5 : 9;
    const step = (steps.find((s) => hours / s <= room) ?? 48) * 3600;
    const midnight = (startMs % 86400000) / 1000;
    const ticks = [];
    for (let t = Math.ceil((from + midnight) / step) * step - midnight; t <= to; t += step) ticks.push(t);
    return ticks;
  }

  function clipTo(u) {
    u.ctx.save();
    u.ctx.beginPath();
    u.ctx.rect(u.bbox.left, u.bbox.top, u.bbox.width, u.bbox.height);
    u.ctx.clip();
  }

  function limitAt(chart, t) {
    const found = chart.limits.find((l) => t >= l.from && t < l.to);
    return (found ?? chart.limits[chart.limits.length - 1]).a;
  }

  /* A triangle at the top wherever a leg is past its limit, so that one red minute is not missed. */
  function drawFlags(u, spots, colour) {
    const ratio = window.devicePixelRatio || 1;
    let last = -99;
    for (const x of spots) {
      if (x - last < 10 * ratio) continue;
      last = x;
      u.ctx.fillStyle = colour;
      u.ctx.beginPath();
      u.ctx.moveTo(x, u.bbox.top + 1); u.ctx.lineTo(x + 5 * ratio, u.bbox.top + 9 * ratio); u.ctx.lineTo(x - 5 * ratio, u.bbox.top + 9 * ratio);
      u.ctx.fill();
    }
  }

  /* Words with a halo of paper, so that they read over any ink. */
  function write(ctx, text, x, y, colour, halo) {
    const ratio = window.devicePixelRatio || 1;
    ctx.textAlign = "left";
    ctx.textBaseline = "alphabetic";
    ctx.lineJoin = "round";
    ctx.lineWidth = 5 * ratio;
    ctx.strokeStyle = halo;
    ctx.strokeText(text, x, y);
    ctx.fillStyle = colour;
    ctx.fillText(text, x, y);
  }

  return { readColours, clock, day, timeTicks, clipTo, limitAt, drawFlags, write };
})();
