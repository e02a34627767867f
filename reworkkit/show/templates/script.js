"use strict";
const reworkkitCore = (() => {
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
  const inTab = (key) => (history.state || {})[key]; // a busy browser may hand a reloaded page an empty storage, or an old one
  const devicePlace = "reworkkit page / device";
  const device = word(devicePlace, String(inTab(devicePlace) || `page-${hex(2)}`));
  keep(devicePlace, device);

  const join = (more) => { // what another window or an earlier load kept joins, none is written over
    const known = new Set(events.map((each) => each.id));
    events.push(...more.filter((each) => !known.has(each.id)));
  };
  const takeIn = () => join(load(ownPlace));
  const keepEvents = () => {
    keep(ownPlace, JSON.stringify(events));
    try {
      history.replaceState({ [ownPlace]: events, [devicePlace]: device }, "");
    } catch { /* too many for this second place: the first has them */ }
  };
  const recall = () => {
    const kept = inTab(ownPlace);
    if (Array.isArray(kept)) join(kept);
    if (events.length) keepEvents(); // in both places, whichever of them had all
  };
  recall();
  const record = (kind, subject, detail, undoes = null) => {
    takeIn();
    const event = {
      seq: events.reduce((most, each) => Math.max(most, each.seq || 0), 0) + 1, id: hex(16), copy: facts.copy,
      at: new Date().toISOString().slice(0, 19) + "Z", who: byId("who").value.trim(), device, kind, subject, detail, undoes,
    };
    events.push(event);
    keepEvents();
    return event;
  };
  const live = () => {
    const undone = new Set(events.map((each) => each.undoes).filter(Boolean));
    return events.filter((each) => each.kind !== "undo" && !undone.has(each.id));
  };
  const newest = (kind, keyOf) => new Map(live().filter((each) => each.kind === kind).map((each) => [keyOf(each), each]));
  const tickKey = (kind, subject) => `${kind} ${subject}`;

  // ---- ticks
  const steps = all(".step");
  const modes = []; // closes what else fills the screen
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
    showInHand();
    if (current) showDock();
  };
  const showInHand = () => { // also in the tool: the first open step, or a hold point between it and the last tick
    const line = document.querySelector("#in-hand a");
    if (!line || !cards.length) return;
    const card = inHand();
    const words = (query) => card.closest(".op").querySelector(query).lastChild.textContent.trim();
    const step = () => `${words(".no")}. ${words("h3")}: ${card.querySelector(".ref").textContent}`;
    line.textContent = !card ? fill("all-ticked") : isStep(card) ? step() : card.querySelector("h3").textContent;
    if (card) line.href = `#${card.id}`;
  };
  // ---- one step at a time
  const cards = all("#work .step, #work .hold");
  const inHand = () => {
    const last = cards.reduce((found, card, n) => (isStep(card) && box(card).checked ? n : found), -1);
    return cards.find((card, n) => (isStep(card) ? !box(card).checked : n > last && !card.classList.contains("passed")));
  };
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
    openNote(false);
    showDock();
  };
  const openNote = (open) => {
    byId("note-form").hidden = !open;
    byId("note-open").setAttribute("aria-expanded", String(open));
    if (open) byId("note").focus();
  };
  const openOne = (wanted) => {
    const open = wanted || inHand() || cards[0];
    if (!open) return;
    modes.forEach((close) => close());
    document.body.classList.add("one");
    byId("told").textContent = "";
    showStorage();
    byId("dock").hidden = false;
    show(open);
  };
  const find = (event) => {
    event.preventDefault();
    const ref = byId("find-part").value.trim().toUpperCase();
    const named = (each) => (each.dataset.ref || each.dataset.r || "").toUpperCase() === ref;
    const own = cards.filter(named);
    const place = all(".survey tr[data-r]").find(named);
    byId("told").textContent = own.length || !ref ? "" : fill(place ? "no-step" : "not-found", { ref });
    if (own.length) openOne(own.find((card) => isStep(card) && !box(card).checked) || own[0]);
    else if (place) place.scrollIntoView({ block: "center" });
    all(".sought").forEach((each) => each.classList.remove("sought"));
    if (place) place.classList.add("sought");
  };
  const closeOne = () => {
    if (!current) return;
    const left = current;
    current = null;
    document.body.classList.remove("one");
    byId("dock").hidden = true;
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

  // ---- the way back to the tool
  const state = () => {
    takeIn();
    return JSON.stringify({
      format: facts.format, board_id: facts.board_id, job: facts.job, copy: facts.copy, plan: facts.plan, at_event: facts.at_event, device, events,
    }, null, 1);
  };
  const fileName = (ending) => `ticks-${facts.name.toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "") || "board"}-${facts.copy}.${ending}`;
  const asText = () => new File([state()], fileName("txt"), { type: "text/plain" }); // browsers hand on text, not JSON
  const canSend = () => { try { return navigator.canShare({ files: [asText()] }); } catch { return false; } };
  const send = async () => {
    try {
      await navigator.share({ files: [asText()], title: fileName("txt") });
      byId("told").textContent = fill("saved", { file: fileName("txt") });
    } catch { /* the person changed their mind; the other two ways are beside the button */ }
  };
  const save = () => {
    const name = fileName("json");
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
    keepEvents();
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
    if (!current || !KEYS[event.key]) return;
    if (event.key === " " && event.target.matches("button, input[type=checkbox]") && event.target !== box(current)) return;
    event.preventDefault();
    KEYS[event.key]();
  };
  const keepNote = (event) => {
    event.preventDefault();
    const text = byId("note").value.trim();
    if (!text) return;
    record("note", current.dataset.ref, { text });
    byId("note").value = "";
    openNote(false);
    showTicks();
    byId("dock-told").textContent = fill("kept");
    byId("note-open").focus();
  };
  const shown = []; // what other parts of the page show anew
  const refresh = () => { showTicks(); shown.forEach((each) => each()); offerEarlier(); showStorage(); };

  window.addEventListener("storage", () => { takeIn(); refresh(); });
  document.addEventListener("keydown", onKey);
  document.addEventListener("change", (event) => {
    const step = event.target.closest(".step");
    if (step && event.target === box(step)) setTick(step, event.target.checked);
  });
  byId("one").addEventListener("click", () => openOne());
  byId("find").addEventListener("submit", find);
  byId("note-open").addEventListener("click", () => openNote(byId("note-form").hidden));
  byId("send").addEventListener("click", send);
  byId("save").addEventListener("click", save);
  byId("copy").addEventListener("click", copyOut);
  byId("take-over").addEventListener("click", takeOver);
  byId("close").addEventListener("click", closeOne);
  byId("back").addEventListener("click", () => move(-1));
  byId("next").addEventListener("click", () => move(1));
  byId("tick").addEventListener("click", toggle);
  byId("note-form").addEventListener("submit", keepNote);
  byId("who").value = word("reworkkit page / who", "");
  byId("who").addEventListener("change", () => keep("reworkkit page / who", byId("who").value.trim()));
  byId("one").hidden = !cards.length;
  byId("survey").classList.toggle("main", !cards.length);
  byId("send").hidden = !canSend();
  byId("parts-listed").append(...all(".survey tr[data-r]").map((row) => Object.assign(document.createElement("option"), { value: row.dataset.r })));
  byId("tools").hidden = byId("more").hidden = false;
  byId("no-script").hidden = true;
  return { facts, byId, all, fill, record, live, newest, showTicks, shown, modes, closeOne, typing, refresh };
})();
