(() => {
  const { facts, byId, all, fill, record, live, showTicks, shown, modes, closeOne, typing } = reworkkitCore;

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

  const onKey = (event) => {
    if (seen < 0 || event.ctrlKey || event.metaKey || event.altKey || typing(event.target)) return;
    const found = facts.states.find((each) => each.key === event.key.toLowerCase());
    const by = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (!found && !by && event.key !== "Escape") return;
    event.preventDefault();
    if (found) answer(found.state); else if (by) showPlace(seen + by); else closeSurvey();
  };
  shown.push(showFound);
  modes.push(closeSurvey);
  document.addEventListener("keydown", onKey);
  byId("survey").addEventListener("click", openSurvey);
  byId("seek-close").addEventListener("click", closeSurvey);
  byId("seek-second").addEventListener("click", secondLook);
  byId("seek-back").addEventListener("click", () => showPlace(seen - 1));
  byId("seek-next").addEventListener("click", () => showPlace(seen + 1));
  all(".answers button").forEach((button) => button.addEventListener("click", () => answer(button.dataset.state)));
  byId("survey").disabled = !rows.length;
})();
