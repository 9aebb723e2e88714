/* The steps of a run: read once as bytes, then cut and thinned here for every stretch asked for. */
"use strict";

window.plotData = (() => {
  async function answer(address, kind) {
    const got = await fetch(address, { headers: { Accept: kind } });
    if (!got.ok) throw new Error(`${got.status} for ${address}`);
    return got;
  }

  /* What a run is drawn from: its document, with L1 and L2 of every chart in amps. */
  async function load(source) {
    const [document, bytes] = await Promise.all([
      answer(`${source}.json`, "application/json").then((got) => got.json()),
      answer(`${source}.bin`, "application/octet-stream").then((got) => got.arrayBuffer()),
    ]);
    const counts = new Uint16Array(bytes);
    document.charts.forEach((chart, i) => {
      const legs = [0, 1].map((leg) => {
        const first = (2 * i + leg) * document.steps;
        const amps = new Float32Array(document.steps);
        for (let step = 0; step < document.steps; step += 1) amps[step] = counts[first + step] * chart.unit_a;
        return amps;
      });
      [chart.l1, chart.l2] = legs;
    });
    return document;
  }

  /* Times and amps of a stretch, at most two points a pixel: the lowest and the highest step of
     it, in the order they came. L2 is negative, so that it hangs below the neutral. */
  function cut(run, chart, from, to, pixels) {
    const first = Math.max(Math.floor(from / run.step_s), 0);
    const last = Math.min(Math.ceil(to / run.step_s), run.steps);
    const count = last - first;
    const times = [];
    const up = [];
    const down = [];
    if (count <= 2 * pixels) {
      for (let step = first; step < last; step += 1) {
        times.push(step * run.step_s);
        up.push(chart.l1[step]);
        down.push(-chart.l2[step]);
      }
    } else {
      for (let pixel = 0; pixel < pixels; pixel += 1) {
        const a = first + Math.floor((pixel * count) / pixels);
        const b = first + Math.floor(((pixel + 1) * count) / pixels);
        times.push(a * run.step_s, ((a + b) / 2) * run.step_s);
        up.push(...ends(chart.l1, a, b));
        down.push(...ends(chart.l2, a, b).map((amps) => -amps));
      }
    }
    times.push(last * run.step_s);
    up.push(0);
    down.push(0);
    return [times, up, down];
  }

  /* What a stretch is drawn up to: its highest amps and the limits it has power under, but for one
     of more than off_scale times all else. */
  function top(run, chart, from, to) {
    const first = Math.max(Math.floor(from / run.step_s), 0);
    const last = Math.min(Math.ceil(to / run.step_s), run.steps);
    const isDark = (a, b) => chart.dead.some(([begin, end]) => begin <= a && end >= b);
    const inside = chart.limits
      .map((limit) => [Math.max(limit.from, from), Math.min(limit.to, to), limit.a])
      .filter(([a, b]) => b > a);
    const lit = inside.filter(([a, b]) => !isDark(a, b));
    const held = (lit.length ? lit : inside).map(([, , amps]) => amps).sort((a, b) => a - b);
    let tallest = held[0] ?? 1;
    for (let step = first; step < last; step += 1) {
      tallest = Math.max(tallest, chart.l1[step], chart.l2[step]);
    }
    for (const amps of held) if (amps <= chart.off_scale * tallest) tallest = Math.max(tallest, amps);
    return tallest * 1.08;
  }

  function ends(leg, first, last) {
    let low = leg[first];
    let high = low;
    for (let step = first + 1; step < last; step += 1) {
      if (leg[step] < low) low = leg[step];
      if (leg[step] > high) high = leg[step];
    }
    return leg[first] <= leg[last - 1] ? [low, high] : [high, low];
  }

  return { load, cut, top };
})();
