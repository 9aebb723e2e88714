/* The timeline editor: bars and marks over the hours of a scenario, dragged or moved by keys.
   The form below is what is saved; every move is written into its fields. */
"use strict";

(() => {
  const host = document.getElementById("timeline");
  const form = host?.nextElementSibling?.closest("form") ?? document.querySelector("form.daylist");
  if (!host || !form) return;

  const MINUTE = 60_000;
  const HOUR = 60 * MINUTE;
  const NEW_WINDOW_H = 1;

  const field = (name) => form.elements.namedItem(name);
  const millis = (text) => Date.parse(`${text}Z`);
  const written = (at) => new Date(at).toISOString().slice(0, 16);
  const WEEKDAYS = ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"];
  const weekday = (at) => WEEKDAYS[new Date(at).getUTCDay()];
  const clock = (at) => new Date(at).toISOString().slice(11, 16);
  const said = (at) => `${weekday(at)} ${clock(at)}`;
  const tell = (text) => {
    const status = document.getElementById("status");
    if (status) status.textContent = text;
  };

  function span() {
    const start = millis(field("start").value);
    const hours = Number(field("span_h").value);
    if (!Number.isFinite(start) || !(hours > 0 && hours <= 336)) return null;
    const step = (hours <= 30 ? 5 : hours <= 100 ? 15 : 30) * MINUTE;
    return { start, end: start + hours * HOUR, hours, step };
  }

  /* Rows of a list by number, those of one part where the lane has one. */
  const PART_FIELD = { switch_moves: "switch_id", hand_windows: "circuit_id", events: "appliance_id" };
  const INSIDE = { hand_windows: "window." };

  function numbers(list) {
    const found = new Set();
    for (const { name } of form.elements) {
      const match = name?.match(/^([a-z_]+)\.(\d+)\./);
      if (match && match[1] === list) found.add(Number(match[2]));
    }
    return [...found].sort((a, b) => a - b);
  }

  const names = (lane, row) => {
    const root = `${lane.list}.${row}.${INSIDE[lane.list] ?? ""}`;
    return lane.kind === "window" ? [`${root}start`, `${root}end`] : [`${root}at`];
  };

  function rowsOf(lane) {
    const part = PART_FIELD[lane.list];
    return numbers(lane.list)
      .filter((row) => !part || field(`${lane.list}.${row}.${part}`)?.value === lane.part)
      .map((row) => ({ row, names: names(lane, row) }))
      .map((item) => ({ ...item, times: item.names.map((name) => millis(field(name)?.value ?? "")) }))
      .filter((item) => item.times.every(Number.isFinite));
  }

  function put(name, value) {
    const input = field(name);
    if (!input || input.value === value) return;
    input.value = value;
    input.dispatchEvent(new Event("input", { bubbles: true }));
  }

  /* An empty row of a list: the spare one, else a copy of the last with the next number. */
  function emptyRow(lane) {
    const part = PART_FIELD[lane.list];
    for (const row of numbers(lane.list)) {
      const times = names(lane, row).map((name) => field(name)?.value);
      if (times.every((text) => !text) && (!part || !field(`${lane.list}.${row}.${part}`)?.value)) {
        return row;
      }
    }
    const all = numbers(lane.list);
    const last = all[all.length - 1];
    const old = field(names(lane, last)[0])?.closest(".rowset");
    if (!old) return null;
    const copy = old.cloneNode(true);
    const from = `${lane.list}.${last}.`;
    const to = `${lane.list}.${last + 1}.`;
    for (const element of copy.querySelectorAll("*")) {
      for (const attribute of ["name", "id", "for", "aria-describedby"]) {
        const text = element.getAttribute(attribute);
        if (text?.includes(from)) element.setAttribute(attribute, text.replaceAll(from, to));
      }
      if (element instanceof HTMLInputElement) element.value = "";
      if (element.classList.contains("problem")) element.remove();
    }
    copy.setAttribute("aria-label", `Row ${last + 2}`);
    old.after(copy);
    return last + 1;
  }

  function add(lane, at) {
    const hours = span();
    const row = hours && emptyRow(lane);
    if (row === null || row === undefined) return;
    const part = PART_FIELD[lane.list];
    if (part) put(`${lane.list}.${row}.${part}`, lane.part);
    const [first, second] = names(lane, row);
    const from = clip(snap(at, hours), hours.start, hours.end - hours.step);
    if (lane.kind === "move") {
      const before = rowsOf(lane).filter((r) => r.times[0] <= from && r.row !== row);
      const last = before.sort((a, b) => a.times[0] - b.times[0]).pop();
      const was = last ? field(`switch_moves.${last.row}.position`)?.value : lane.rest;
      put(`switch_moves.${row}.position`, was === "backed_up" ? "normal" : "backed_up");
    }
    put(first, written(from));
    if (second) put(second, written(Math.min(from + NEW_WINDOW_H * HOUR, hours.end)));
    draw();
    tell(`${lane.name}: added at ${said(from)}.`);
    host.querySelector(`[data-row="${lane.list}.${row}"]`)?.focus();
  }

  const clip = (at, low, high) => Math.min(Math.max(at, low), high);
  const snap = (at, hours) => hours.start + Math.round((at - hours.start) / hours.step) * hours.step;

  /* Move a start, an end or both by so much, kept inside the run and in order. */
  function move(lane, item, which, by) {
    const hours = span();
    if (!hours) return;
    let [first, second] = item.times;
    if (second === undefined) {
      first = clip(first + by, hours.start, hours.end);
    } else if (which === "start") {
      first = clip(first + by, hours.start, second - hours.step);
    } else if (which === "end") {
      second = clip(second + by, first + hours.step, hours.end);
    } else {
      const kept = clip(by, hours.start - first, Math.max(hours.end - second, hours.start - first));
      first += kept;
      second += kept;
    }
    put(item.names[0], written(first));
    if (second !== undefined) put(item.names[1], written(second));
  }

  function words(lane, item, which) {
    const [first, second] = item.times;
    if (second === undefined) {
      const to = field(`switch_moves.${item.row}.position`);
      const where = lane.kind === "move" ? ` to ${to?.selectedOptions[0]?.text ?? ""}` : "";
      return `${said(first)}${where}`;
    }
    if (which === "start") return `from ${said(first)}`;
    if (which === "end") return `until ${said(second)}`;
    return `${said(first)} to ${said(second)}`;
  }

  const LABELS = { start: "begin", end: "end", whole: "whole stretch", point: "mark" };

  function handle(lane, item, which, hours) {
    const knob = document.createElement("button");
    knob.type = "button";
    knob.className = `tl-knob tl-${which}`;
    knob.setAttribute("role", "slider");
    knob.setAttribute("aria-label", `${lane.name}, ${LABELS[which]}`);
    const at = which === "end" ? item.times[1] : item.times[0];
    knob.setAttribute("aria-valuemin", "0");
    knob.setAttribute("aria-valuemax", String(Math.round(hours.hours * 60)));
    knob.setAttribute("aria-valuenow", String(Math.round((at - hours.start) / MINUTE)));
    knob.setAttribute("aria-valuetext", words(lane, item, which));
    knob.title = words(lane, item, which);
    knob.dataset.item = `${lane.list}.${item.row}.${which}`;
    if (which === "whole" || which === "point") knob.dataset.row = `${lane.list}.${item.row}`;
    knob.addEventListener("keydown", (event) => onKey(event, lane, item, which));
    knob.addEventListener("pointerdown", (event) => onGrab(event, knob, lane, item, which));
    return knob;
  }

  function onKey(event, lane, item, which) {
    const hours = span();
    if (!hours) return;
    const way = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1 }[event.key];
    if (event.key === "Delete" || event.key === "Backspace") {
      event.preventDefault();
      for (const name of item.names) put(name, "");
      const part = PART_FIELD[lane.list];
      if (part) put(`${lane.list}.${item.row}.${part}`, "");
      draw();
      tell(`${lane.name}: taken away. Nothing is saved until you save.`);
      host.querySelector(`[data-list="${lane.list}"][data-part="${lane.part}"] [data-add]`)?.focus();
      return;
    }
    if (!way) return;
    event.preventDefault();
    move(lane, item, which, way * (event.shiftKey ? HOUR : hours.step));
    redraw(lane, item, which);
  }

  function redraw(lane, item, which) {
    draw();
    const knob = host.querySelector(`[data-item="${lane.list}.${item.row}.${which}"]`);
    knob?.focus();
    const fresh = rowsOf(lane).find((one) => one.row === item.row);
    if (fresh) tell(`${lane.name} ${words(lane, fresh, which)}.`);
  }

  let grabbed = false;

  function onGrab(event, knob, lane, item, which) {
    if (event.button !== 0) return;
    const hours = span();
    const track = knob.closest(".tl-track").getBoundingClientRect();
    if (!hours || !track.width) return;
    event.preventDefault();
    event.stopPropagation();
    grabbed = true;
    const from = event.clientX;
    const perPixel = (hours.end - hours.start) / track.width;
    const go = (moved) => {
      const by = Math.round(((moved.clientX - from) * perPixel) / hours.step) * hours.step;
      move(lane, item, which, by);
      place(lane);
    };
    const stop = () => {
      window.removeEventListener("pointermove", go);
      window.removeEventListener("pointerup", stop);
      window.removeEventListener("pointercancel", stop);
      redraw(lane, item, which);
      setTimeout(() => { grabbed = false; });
    };
    window.addEventListener("pointermove", go);
    window.addEventListener("pointerup", stop);
    window.addEventListener("pointercancel", stop);
  }

  const percent = (at, hours) =>
    `${(100 * (clip(at, hours.start, hours.end) - hours.start)) / (hours.end - hours.start)}%`;
  const share = (from, to, hours) =>
    `${(100 * Math.max(clip(to, hours.start, hours.end) - clip(from, hours.start, hours.end), 0)) / (hours.end - hours.start)}%`;

  function bar(from, to, hours, kind) {
    const drawn = document.createElement("span");
    drawn.className = `tl-bar ${kind}`;
    drawn.style.left = percent(from, hours);
    drawn.style.width = share(from, to, hours);
    return drawn;
  }

  /* Stretches in which a double-throw stands on BACKED-UP. */
  function backed(lane, items, hours) {
    const ordered = [...items].sort((a, b) => a.times[0] - b.times[0]);
    const found = [];
    let position = lane.rest;
    let since = hours.start;
    for (const item of ordered) {
      const next = field(`switch_moves.${item.row}.position`)?.value ?? position;
      if (position === "backed_up") found.push([since, item.times[0]]);
      position = next;
      since = item.times[0];
    }
    if (position === "backed_up") found.push([since, hours.end]);
    return found;
  }

  /* Bars and knobs of one lane put where the fields say, the knobs in hand kept. */
  function place(lane) {
    const hours = span();
    if (!hours) return;
    for (const drawn of lane.track.querySelectorAll(".tl-bar")) drawn.remove();
    const items = rowsOf(lane);
    const drawn =
      lane.kind === "move"
        ? backed(lane, items, hours).map(([from, to]) => bar(from, to, hours, "on"))
        : lane.kind === "window"
          ? items.map((item) => bar(item.times[0], item.times[1], hours, lane.list === "outages" ? "out" : "on"))
          : [];
    lane.track.prepend(...drawn);
    for (const item of items) {
      const at = (which) => lane.track.querySelector(`[data-item="${lane.list}.${item.row}.${which}"]`);
      const [first, second] = item.times;
      for (const [which, left] of [["start", first], ["point", first], ["end", second]]) {
        const knob = at(which);
        if (knob) {
          knob.style.left = percent(left, hours);
          knob.hidden = left < hours.start || left > hours.end;
        }
      }
      const whole = at("whole");
      if (whole) {
        whole.style.left = percent(first, hours);
        whole.style.width = share(first, second, hours);
      }
    }
  }

  function drawAxis(hours) {
    const axis = host.querySelector(".tl-axis");
    const most = Math.max(axis.clientWidth / 90, 2);
    const every = [1, 2, 3, 6, 12, 24, 48, 96].find((h) => hours.hours / h <= most) ?? 168;
    const marks = [];
    const midnight = Math.floor(hours.start / (24 * HOUR)) * 24 * HOUR;
    for (let at = midnight; at < hours.end; at += every * HOUR) {
      if (at < hours.start) continue;
      const mark = document.createElement("span");
      mark.style.left = percent(at, hours);
      const time = clock(at);
      const day = `${weekday(at)} ${new Date(at).getUTCDate()}`;
      if (time === "00:00") mark.textContent = day;
      else mark.textContent = marks.length ? time : `${day} ${time}`;
      marks.push(mark);
    }
    axis.replaceChildren(...marks);
  }

  const lanes = [...host.querySelectorAll(".tl-lane")].map((element) => ({
    element,
    track: element.querySelector(".tl-track"),
    kind: element.dataset.kind,
    list: element.dataset.list,
    part: element.dataset.part,
    rest: element.dataset.rest,
    name: element.dataset.name,
  }));

  function draw() {
    const hours = span();
    host.classList.toggle("unclear", !hours);
    if (!hours) return;
    drawAxis(hours);
    for (const lane of lanes) {
      const knobs = rowsOf(lane).flatMap((item) =>
        (lane.kind === "window" ? ["whole", "start", "end"] : ["point"]).map((which) =>
          handle(lane, item, which, hours),
        ),
      );
      lane.track.replaceChildren(...knobs);
      place(lane);
    }
  }

  for (const lane of lanes) {
    lane.element.querySelector("[data-add]").addEventListener("click", () => {
      const hours = span();
      if (hours) add(lane, hours.start + Math.min(hours.hours / 2, 24) * HOUR);
    });
    lane.track.addEventListener("click", (event) => {
      if (grabbed || event.target.closest(".tl-knob")) return;
      const hours = span();
      const box = lane.track.getBoundingClientRect();
      if (hours) add(lane, hours.start + ((event.clientX - box.left) / box.width) * (hours.end - hours.start));
    });
  }
  form.addEventListener("change", (event) => {
    if (event.isTrusted) draw();
  });
  addEventListener("resize", draw);
  draw();
})();
