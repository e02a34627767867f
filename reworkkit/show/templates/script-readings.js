(() => {
  const { all, byId, fill, record, newest, showTicks, shown, refresh } = reworkkitCore;

  const readingKey = (detail, subject) => [subject, detail.mode, detail.hold_point || ""].join("|");
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
    const line = input.closest(".probe").querySelector(".said");
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
  const fields = all(".reads input[type=text]");
  for (const input of fields) {
    const rule = JSON.parse(input.dataset.rule);
    if (rule.swapped !== null && JSON.stringify(rule.swapped) !== JSON.stringify(rule.expect)) {
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
    input.closest(".probe").append(line);
    input.addEventListener("change", () => takeReading(input));
    input.addEventListener("keydown", (event) => {
      if (event.key !== "Enter") return;
      event.preventDefault();
      const inSight = fields.filter((each) => each.offsetParent);
      (inSight[inSight.indexOf(input) + 1] || byId("next")).focus();
      if (document.activeElement === input) input.blur();
    });
  }

  shown.push(showReadings);
  window.reworkkitPage = Object.freeze({ parseReading, judge });
  refresh();
})();
