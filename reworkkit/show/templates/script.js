"use strict";
(() => {
  const facts = JSON.parse(document.getElementById("facts").textContent);
  const byId = (id) => document.getElementById(id);
  const all = (query, from = document) => Array.from(from.querySelectorAll(query));
  const fill = (slug, blanks = {}) => facts.texts[slug].replace(/\{(\w+)\}/g, (_, name) => String(blanks[name]));
  const place = (owner) => `reworkkit page / ${owner} / copy ${facts.copy}`;
  const ownPlace = place(facts.job || facts.board_id);

  // ---- what happened: the same records as the tool writes, kept in this browser
  let storageRefused = false;
  const showStorage = () => { if (storageRefused) byId("told").textContent = fill("no-storage"); };
  const load = (key) => {
    try {
      const kept = JSON.parse(localStorage.getItem(key) || "[]");
      return Array.isArray(kept) ? kept : [];
    } catch { storageRefused = true; return []; }
  };
  const keep = (key, value) => {
    try { localStorage.setItem(key, value); } catch { storageRefused = true; showStorage(); }
  };
  const hex = (length) => Array.from(crypto.getRandomValues(new Uint8Array(length)), (b) => b.toString(16).padStart(2, "0")).join("");
  const word = (key, otherwise) => {
    try { return localStorage.getItem(key) || otherwise; } catch { storageRefused = true; return otherwise; }
  };
  const events = load(ownPlace);
  const device = word("reworkkit page / device", `page-${hex(2)}`);
  keep("reworkkit page / device", device);

  const takeIn = () => { // another window may have kept more since: its events join, none is written over
    const known = new Set(events.map((each) => each.id));
    events.push(...load(ownPlace).filter((each) => !known.has(each.id)));
  };
  const record = (kind, subject, detail, undoes = null) => {
    takeIn();
    const event = {
      seq: events.reduce((most, each) => Math.max(most, each.seq || 0), 0) + 1, id: hex(16), copy: facts.copy,
      at: new Date().toISOString().slice(0, 19) + "Z", who: byId("who").value.trim(), device, kind, subject, detail, undoes,
    };
    events.push(event);
    keep(ownPlace, JSON.stringify(events));
    return event;
  };
  const live = () => {
    const undone = new Set(events.map((each) => each.undoes).filter(Boolean));
    return events.filter((each) => each.kind !== "undo" && !undone.has(each.id));
  };
  const newest = (kind, keyOf) => new Map(live().filter((each) => each.kind === kind).map((each) => [keyOf(each), each]));
  const tickKey = (kind, subject) => `${kind} ${subject}`;
  const readingKey = (detail, subject) => [subject, detail.mode, detail.hold_point || ""].join("|");

  // ---- ticks
  const steps = all(".step");
  const kindOf = (step) => step.parentElement.dataset.kind;
  const box = (step) => step.querySelector("input[type=checkbox]");
  const setTick = (step, on) => {
    const kind = kindOf(step);
    const { ref } = step.dataset;
    const known = newest("done", (each) => tickKey(each.detail.operation, each.subject)).get(tickKey(kind, ref));
    if (on && !known) record("done", ref, { operation: kind, kind });
    if (!on && known) record("undo", ref, { operation: kind }, known.id);
    showTicks();
  };
  const showTicks = () => {
    const done = newest("done", (each) => tickKey(each.detail.operation, each.subject));
    for (const step of steps) {
      const tick = box(step);
      if (!tick.disabled) tick.checked = done.has(tickKey(kindOf(step), step.dataset.ref));
      step.classList.toggle("ticked", tick.checked);
    }
    for (const op of all(".op")) {
      const own = all(".step", op);
      const ticked = own.filter((step) => box(step).checked).length;
      op.classList.toggle("finished", own.length > 0 && ticked === own.length);
      op.querySelector(".part-done").textContent = own.length ? fill("operation-progress", { done: ticked, all: own.length }) : "";
    }
    const ticked = steps.filter((step) => box(step).checked).length;
    byId("progress").textContent = `${fill("progress", { done: ticked, all: steps.length })} · ${fill("events", { n: events.length })}`;
    if (current) showDock();
  };
  // ---- one step at a time
  const cards = all("#work .step, #work .hold");
  let current = null;
  const isStep = (card) => card.classList.contains("step");
  const showDock = () => {
    const step = isStep(current);
    byId("tick").disabled = !step || box(current).disabled;
    byId("tick").textContent = fill(step && box(current).checked ? "untick" : "tick");
    byId("back").disabled = current === cards[0];
    byId("next").disabled = current === cards[cards.length - 1];
    const count = fill("step-of", { n: cards.indexOf(current) + 1, all: cards.length });
    const more = !step ? fill("hold-key") : box(current).disabled ? fill("in-job", { ref: current.dataset.ref }) : "";
    byId("dock-told").textContent = more ? `${count}. ${more}` : count;
  };
  const show = (card) => {
    if (!card) return;
    all(".now").forEach((each) => each.classList.remove("now"));
    current = card;
    card.classList.add("now");
    const op = card.closest(".op");
    if (op) op.classList.add("now");
    card.tabIndex = -1;
    card.focus({ preventScroll: true });
    window.scrollTo(0, 0);
    byId("note").value = "";
    showDock();
  };
  const openOne = () => {
    const open = cards.find((card) => isStep(card) && !box(card).checked) || cards[0];
    if (!open) return;
    closeSurvey();
    document.body.classList.add("one");
    byId("dock").hidden = byId("note-form").hidden = false;
    show(open);
  };
  const closeOne = () => {
    if (!current) return;
    const left = current;
    current = null;
    document.body.classList.remove("one");
    byId("dock").hidden = byId("note-form").hidden = true;
    left.scrollIntoView({ block: "center" });
    byId("one").focus({ preventScroll: true });
  };
  const move = (by) => show(cards[cards.indexOf(current) + by]);
  const moveOperation = (by) => {
    const owner = (card) => card.closest(".op, .hold");
    const owners = [...new Set(cards.map(owner))];
    const target = owners[owners.indexOf(owner(current)) + by];
    if (target) show(cards.find((card) => owner(card) === target));
  };
  const toggle = () => {
    if (!isStep(current) || box(current).disabled) return;
    const on = !box(current).checked;
    setTick(current, on);
    if (on && current !== cards[cards.length - 1]) move(1);
    else if (on) byId("dock-told").textContent = fill("end");
  };

  // ---- survey: a first look, then a second one the other way round; where they differ is listed
  const rows = all(".survey tbody tr[data-r]").filter((row) => !row.querySelector(".is-not_a_part"));
  const labels = new Map(all(".answers button").map((button) => [button.dataset.state, button.lastChild.textContent.trim()]));
  let seen = -1;
  let look = 1;
  const foundIn = (which) => new Map(live().filter((each) => each.kind === "found" && (each.detail.look || 1) === which).map((each) => [each.subject, each]));
  const order = () => look === 1 ? rows : [...rows].reverse();
  const refOf = (row) => row.dataset.r;
  const showFound = () => {
    const [first, second] = [foundIn(1), foundIn(2)];
    for (const row of rows) {
      const event = second.get(refOf(row)) || first.get(refOf(row));
      all(".b", row).forEach((cell, n) => cell.classList.toggle("said", Boolean(event) && facts.states[n].state === event.detail.state));
    }
    const found = look === 1 ? first : second;
    byId("seek-progress").textContent = fill("surveyed", { done: rows.filter((row) => found.has(refOf(row))).length, all: rows.length });
    byId("seek-second").hidden = look === 2 || !rows.every((row) => first.has(refOf(row)));
    byId("seek-differ").textContent = rows.map(refOf)
      .filter((ref) => first.has(ref) && second.has(ref) && first.get(ref).detail.state !== second.get(ref).detail.state)
      .map((ref) => fill("differ", { ref, first: labels.get(first.get(ref).detail.state), second: labels.get(second.get(ref).detail.state) })).join(" ");
  };
  const showPlace = (n) => {
    if (n < 0 || n >= rows.length) return;
    seen = n;
    const row = order()[n];
    const cells = all("th, td", row).map((cell) => cell.textContent.trim());
    byId("seek-region").textContent = `${row.parentElement.querySelector(".region").textContent} · ${fill("place-of", { n: n + 1, all: rows.length })}`;
    byId("seek-ref").textContent = cells[0];
    byId("seek-what").textContent = [cells[1], cells[2], cells[4]].filter(Boolean).join(" · ");
    const event = foundIn(look).get(refOf(row));
    all(".answers button").forEach((button) => button.setAttribute("aria-pressed", String(Boolean(event) && button.dataset.state === event.detail.state)));
    byId("seek").focus({ preventScroll: true });
    window.scrollTo(0, 0);
    showFound();
  };
  const firstOpen = () => {
    const found = foundIn(look);
    return Math.max(0, order().findIndex((row) => !found.has(refOf(row))));
  };
  const openSurvey = () => {
    if (!rows.length) return;
    closeOne();
    document.body.classList.add("survey-on");
    byId("seek").hidden = false;
    look = foundIn(2).size ? 2 : 1;
    showPlace(firstOpen());
  };
  const secondLook = () => { look = 2; showPlace(firstOpen()); };
  const closeSurvey = () => {
    if (seen < 0) return;
    seen = -1;
    document.body.classList.remove("survey-on");
    byId("seek").hidden = true;
    byId("survey").focus({ preventScroll: true });
  };
  const answer = (state) => {
    const ref = refOf(order()[seen]);
    const { facets } = facts.states.find((each) => each.state === state);
    const before = foundIn(look).get(ref);
    if (before) record("undo", ref, {}, before.id);
    record("found", ref, { state, facets, note: "", look });
    if (seen < rows.length - 1) showPlace(seen + 1);
    else { showPlace(seen); byId("seek-progress").textContent += ` ${fill("end")}`; }
    showTicks();
  };

  // ---- readings: what a person writes down from a meter, judged by the rules of the tool
  const SCALE = { p: 1e-12, n: 1e-9, u: 1e-6, "µ": 1e-6, "μ": 1e-6, m: 1e-3, "": 1, k: 1e3, K: 1e3, M: 1e6, G: 1e9 };
  const UNITS = { v: "V", a: "A", ohm: "ohm", ohms: "ohm", "ω": "ohm", r: "ohm", c: "C", "°c": "C" };
  const OVER = ["ol", "o.l", "o.l.", ".ol", "0l", "0.l", "over-range", "over range", "overload", "overrange", "over_range", "inf", "infinite", "∞", "open"];
  const JUMPS = ["jumps", "jumping", "jumpy", "unsteady", "unstable"];
  const parseValue = (text) => {
    const plain = text.replace(/−/g, "-").replace(/(\d),(\d)/, "$1.$2").replace(/\s+/g, "");
    const split = /^([+-]?)(\d+)([RkKM])(\d+)$/.exec(plain);
    if (split) return { value: Number(`${split[1]}${split[2]}.${split[4]}`) * (split[3] === "R" ? 1 : SCALE[split[3]]), unit: "ohm" };
    const match = /^([+-]?(?:\d+\.?\d*|\.\d+))([pnuµμmkKMG]?)(V|v|A|ohms?|Ohms?|Ω|Ω|R|°?C)?$/.exec(plain);
    if (!match) return null;
    const unit = match[3] ? UNITS[match[3].toLowerCase()] : "kKM".includes(match[2]) && match[2] ? "ohm" : "";
    return { value: Number((Number(match[1]) * SCALE[match[2]]).toPrecision(12)), unit };
  };
  const parseReading = (text) => {
    const clean = text.trim().replace(/\s+/g, " ");
    const lower = clean.toLowerCase();
    if (OVER.includes(lower)) return { form: "over_range", value: null, unit: "" };
    if (JUMPS.includes(lower)) return { form: "jumps", value: null, unit: "" };
    const rising = /^(?:rising|rises|climbing|climbs)(?: (?:to|towards|up to))?(?: (.+))?$/i.exec(clean);
    if (rising) {
      const end = rising[1] ? parseValue(rising[1]) : { value: null, unit: "" };
      return end && { form: "rising", value: end.value, unit: end.unit };
    }
    const found = parseValue(clean);
    return found && { form: "value", value: found.value, unit: found.unit };
  };
  const judge = (expected, reading) => {
    if (expected === null || expected === undefined) return "not_judged";
    if (typeof expected === "string") return reading.form === expected ? "inside" : reading.form === "jumps" ? "not_judged" : "outside";
    if (reading.form === "jumps") return "not_judged";
    if (reading.form === "over_range") return expected.high === null ? "inside" : "outside";
    if (reading.value === null || reading.unit !== expected.unit) return "not_judged";
    return (expected.high === null || reading.value <= expected.high) && (expected.low === null || reading.value >= expected.low) ? "inside" : "outside";
  };
  const MODE_UNIT = { volts: "V", diode: "V", ohms: "ohm", continuity: "ohm", amps: "A", celsius: "C" };
  const say = (input, text, outside = false) => {
    const line = input.parentElement.querySelector(".said");
    line.textContent = text;
    line.classList.toggle("outside", outside);
  };
  const swapOf = (input) => input.parentElement.querySelector("input[type=checkbox]");
  const judged = (input, reading) => {
    const rule = JSON.parse(input.dataset.rule);
    const verdict = judge(reading.leads_swapped ? rule.swapped : rule.expect, reading);
    const unit = reading.form === "value" ? ` (${Number(reading.value.toPrecision(6))} ${reading.unit})` : "";
    say(input, fill(verdict.replace("_", "-")) + unit, verdict === "outside");
  };
  const takeReading = (input) => {
    if (!input.value.trim()) return;
    const reading = parseReading(input.value);
    if (!reading) { say(input, fill("unreadable"), true); return; }
    if (reading.value !== null && !reading.unit) reading.unit = MODE_UNIT[input.dataset.mode] || "";
    const swap = swapOf(input);
    const detail = { mode: input.dataset.mode, ...reading, leads_swapped: Boolean(swap && swap.checked), hold_point: input.dataset.hold || null, text: input.value.trim() };
    const before = newest("reading", (each) => readingKey(each.detail, each.subject)).get(readingKey(detail, input.dataset.point));
    const same = before && before.detail.text === detail.text && before.detail.leads_swapped === detail.leads_swapped;
    if (!same) record("reading", input.dataset.point, detail);
    judged(input, detail);
    showTicks();
  };
  const showReadings = () => {
    const known = newest("reading", (each) => readingKey(each.detail, each.subject));
    for (const input of all(".reads input[type=text]")) {
      const event = known.get(readingKey({ mode: input.dataset.mode, hold_point: input.dataset.hold }, input.dataset.point));
      if (!event) continue;
      input.value = event.detail.text;
      if (swapOf(input)) swapOf(input).checked = event.detail.leads_swapped;
      judged(input, event.detail);
    }
  };
  for (const input of all(".reads input[type=text]")) {
    if (JSON.parse(input.dataset.rule).swapped !== null) {
      const label = document.createElement("label");
      const swap = document.createElement("input");
      swap.type = "checkbox";
      label.className = "tick";
      label.append(swap, fill("swapped"));
      swap.addEventListener("change", () => takeReading(input));
      input.after(label);
    }
    const line = document.createElement("span");
    line.className = "said";
    line.setAttribute("role", "status");
    input.parentElement.append(line);
    input.addEventListener("change", () => takeReading(input));
  }

  // ---- the way back to the tool
  const state = () => JSON.stringify({
    format: facts.format, board_id: facts.board_id, job: facts.job, copy: facts.copy, plan: facts.plan, at_event: facts.at_event, device, events,
  }, null, 1);
  const save = () => {
    const name = `ticks-${facts.name.toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "") || "board"}-${facts.copy}.json`;
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([state()], { type: "application/json" }));
    link.download = name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
    byId("told").textContent = fill("saved", { file: name });
  };
  const copyOut = async () => {
    try {
      await navigator.clipboard.writeText(state());
      byId("told").textContent = fill("copied");
    } catch {
      const area = byId("by-hand");
      area.value = state();
      area.hidden = false;
      area.focus();
      area.select();
      byId("told").textContent = fill("copy-by-hand");
    }
  };
  const earlier = () => {
    if (!facts.job) return [];
    const known = new Set(events.map((each) => each.id));
    return load(place(facts.board_id)).filter((each) => !known.has(each.id));
  };
  const offerEarlier = () => {
    const waiting = earlier();
    const button = byId("take-over");
    button.hidden = !waiting.length;
    button.textContent = fill("take-over", { n: waiting.length });
  };
  const takeOver = () => {
    takeIn();
    const waiting = earlier();
    events.unshift(...waiting);
    events.forEach((each, n) => { each.seq = n + 1; });
    keep(ownPlace, JSON.stringify(events));
    byId("told").textContent = fill("taken-over", { n: waiting.length });
    refresh();
  };

  // ---- keys and buttons
  const typing = (target) => target.matches("input[type=text], textarea");
  const KEYS = { ArrowRight: () => move(1), ArrowDown: () => move(1), ArrowLeft: () => move(-1), ArrowUp: () => move(-1),
    PageDown: () => moveOperation(1), PageUp: () => moveOperation(-1), " ": toggle, Escape: closeOne };
  const onKey = (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (typing(event.target) && event.key !== "Escape") return;
    if (current && KEYS[event.key]) {
      if (event.key === " " && event.target.matches("button")) return;
      event.preventDefault();
      KEYS[event.key]();
    } else if (seen >= 0) {
      const found = facts.states.find((each) => each.key === event.key.toLowerCase());
      const by = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
      if (!found && !by && event.key !== "Escape") return;
      event.preventDefault();
      if (found) answer(found.state); else if (by) showPlace(seen + by); else closeSurvey();
    }
  };
  const keepNote = (event) => {
    event.preventDefault();
    const text = byId("note").value.trim();
    if (!text) return;
    record("note", current.dataset.ref, { text });
    byId("note").value = "";
    showTicks();
    byId("dock-told").textContent = fill("kept");
  };
  const refresh = () => { showTicks(); showFound(); showReadings(); offerEarlier(); showStorage(); };

  window.addEventListener("storage", () => { takeIn(); refresh(); });
  document.addEventListener("keydown", onKey);
  document.addEventListener("change", (event) => {
    const step = event.target.closest(".step");
    if (step && event.target === box(step)) setTick(step, event.target.checked);
  });
  byId("one").addEventListener("click", openOne);
  byId("survey").addEventListener("click", openSurvey);
  byId("save").addEventListener("click", save);
  byId("copy").addEventListener("click", copyOut);
  byId("take-over").addEventListener("click", takeOver);
  byId("close").addEventListener("click", closeOne);
  byId("seek-close").addEventListener("click", closeSurvey);
  byId("seek-second").addEventListener("click", secondLook);
  byId("seek-back").addEventListener("click", () => showPlace(seen - 1));
  byId("seek-next").addEventListener("click", () => showPlace(seen + 1));
  byId("back").addEventListener("click", () => move(-1));
  byId("next").addEventListener("click", () => move(1));
  byId("tick").addEventListener("click", toggle);
  byId("note-form").addEventListener("submit", keepNote);
  all(".answers button").forEach((button) => button.addEventListener("click", () => answer(button.dataset.state)));
  byId("who").value = word("reworkkit page / who", "");
  byId("who").addEventListener("change", () => keep("reworkkit page / who", byId("who").value.trim()));
  byId("one").disabled = !cards.length;
  byId("survey").disabled = !rows.length;
  byId("tools").hidden = false;
  byId("no-script").hidden = true;
  window.reworkkitPage = Object.freeze({ parseReading, judge });
  refresh();
})();
