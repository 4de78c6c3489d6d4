/* The bedside card's face: reads what is typed, asks the arithmetic, says the policy's words. Keeps nothing, sends nothing. */
"use strict";

(() => {
  const policy = JSON.parse(document.getElementById("card-policy").textContent);
  const allWords = JSON.parse(document.getElementById("card-words").textContent);
  /* Typing errors beyond these, the same as Python's: 71 g/dL is 71 g/L in the wrong unit, and no sign of plenty. */
  const LARGEST = { weight: 1000, ageMonths: 1440, takenMl: 1000, haemoglobinGdl: 30 };
  const AGE_GROUPS = { newborn: [0, 2], child: [2, 216], adult: [216, 1440] };
  const byId = (id) => document.getElementById(id);
  let language = document.documentElement.lang in allWords ? document.documentElement.lang : "en";

  const say = (key, values = {}) =>
    (allWords[language][key] || key).replace(/\{(\w+)\}/g, (whole, name) => (name in values ? values[name] : whole));
  const decimal = (text) => (language === "es" ? text.replace(".", ",") : text);
  const ml = (volume) => `${decimal(String(Number(volume.toPrecision(6))))} mL`;

  function today() {
    const now = new Date();
    const two = (number) => String(number).padStart(2, "0");
    return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
  }

  /* A plain number, or null. A comma is refused: 1,5 and 1,500 look alike to different people. */
  function readNumber(text) {
    return /^\d+(\.\d+)?$|^\.\d+$/.test(text.trim()) ? Number(text.trim()) : null;
  }

  const chosen = (name) => {
    const input = document.querySelector(`input[name="${name}"]:checked`);
    return input ? input.value : "";
  };

  function silentWords(why) {
    return { draft: say("silent_draft"), future: say("silent_future", { day: policy.approvedOn }),
      expired: say("silent_expired", { day: policy.reviewBy }), clock: say("silent_clock", { day: policy.madeOn }) }[why];
  }

  function show(box, words, { stop = false, rows = [], into = false } = {}) {
    box.className = stop ? "result stop" : "result";
    box.replaceChildren();
    const line = document.createElement("p");
    line.className = "say";
    line.textContent = policy.example ? say("example_sentence", { sentence: words }) : words;
    box.append(line);
    if (rows.length) box.append(unfold(rows));
    const under = document.createElement("p");
    under.className = "small";
    under.textContent = `${policy.example ? `${say("example")} ` : ""}${say("deferral")}`;
    box.append(under);
    if (into) box.scrollIntoView({ block: "center" });
  }

  function unfold(rows) {
    const details = document.createElement("details");
    const summary = document.createElement("summary");
    summary.textContent = say("worked_out");
    const table = document.createElement("table");
    const body = document.createElement("tbody");
    for (const [what, how] of rows) {
      const row = body.insertRow();
      row.insertCell().textContent = what;
      row.insertCell().textContent = how;
    }
    table.append(body);
    details.append(summary, table);
    return details;
  }

  /* Reads the patient, or says which field stops it. Units are never guessed. */
  function readPatient() {
    const weight = readNumber(byId("weight").value);
    if (weight === null || weight <= 0 || weight > LARGEST.weight) return { stop: say("need_number", { what: say("weight") }) };
    if (!chosen("weight-unit")) return { stop: say("ask_weight_unit") };
    const age = readNumber(byId("age").value);
    if (age === null) return { stop: say("need_number", { what: say("age") }) };
    if (!chosen("age-unit")) return { stop: say("ask_age_unit") };
    const ageMonths = chosen("age-unit") === "years" ? age * 12 : age;
    if (ageMonths > LARGEST.ageMonths) return { stop: say("ask_age_unit") };
    const taken = byId("taken").value.trim() === "" ? null : readNumber(byId("taken").value);
    if (taken === null || taken > LARGEST.takenMl) return { stop: say("need_number", { what: say("taken") }) };
    const typed = byId("hb").value.trim();
    const value = typed === "" ? null : readNumber(typed);
    if (typed !== "" && (value === null || value <= 0)) return { stop: say("need_number", { what: say("hb") }) };
    const grams = value === null ? null : CubitalNumbers.haemoglobinGdl(policy, value, chosen("hb-unit"));
    if (value !== null && (!chosen("hb-unit") || grams > LARGEST.haemoglobinGdl)) {
      const other = CubitalNumbers.haemoglobinGdl(policy, value, "mmol/L").toFixed(1);
      return { stop: say("ask_hb_unit", { value: decimal(String(value)), other: decimal(other) }) };
    }
    return {
      patient: {
        weightKg: CubitalNumbers.weightKg(policy, weight, chosen("weight-unit")),
        ageMonths,
        haemoglobin: grams,
        takenMl: taken,
      },
    };
  }

  function atHand() {
    return [...document.querySelectorAll('input[name="bottle"]:checked')].map((input) => input.value);
  }

  function planWords(found) {
    const used = found.amounts.filter(([, amount]) => amount > 0);
    const where = used.length === 1
      ? say("one_bottle", { bottle: policy.bottles[used[0][0]].name })
      : used.map(([key, amount]) => `${ml(amount)} ${policy.bottles[key].name}`).join(", ");
    let words = found.sets
      ? say("plan_set", { total: ml(found.total), where, sets: found.sets })
      : say("plan", { total: ml(found.total), where });
    if (found.limitedBy === "bottle" && used.length === 1 && policy.bottles[used[0][0]].kind === "paediatric") {
      words += ` ${say("bottle_limit", { total: ml(found.total) })}`;
    }
    for (const [key, amount] of used) {
      const minimum = policy.bottles[key].minimum / 10;
      if (amount < minimum) words += ` ${say("split_short", { low: ml(minimum) })}`;
    }
    if (found.total < found.low) words += ` ${say("below_table", { low: ml(found.low) })}`;
    return found.discuss ? `${words} ${say("discuss_low")}` : words;
  }

  function refusalWords(found) {
    if (found.refusal === "silent_policy") return silentWords(found.detail);
    if (found.refusal === "implausible") {
      const [low, high] = found.detail.map((kg) => decimal(kg.toFixed(1)));
      return say("implausible", { span: `${low} – ${high} kg` });
    }
    const limit = say(found.detail === "day" ? "limit_day" : "limit_single");
    return `${say(found.refusal, { limit })} ${say("discuss")}`;
  }

  function stepRows(steps) {
    return Object.entries(steps).map(([key, value]) => [say(`step_${key}`), ml(Number(value.toFixed(2)))]);
  }

  function answerPlan() {
    const box = byId("plan-result");
    const read = readPatient();
    if (read.stop) return show(box, read.stop, { stop: true, into: true });
    const found = CubitalNumbers.plan(policy, read.patient, atHand(), today());
    if (found.refusal) return show(box, refusalWords(found), { stop: true, into: true, rows: stepRows(found.steps) });
    return show(box, planWords(found), { into: true, rows: stepRows(found.steps) });
  }

  function answerSplit() {
    const got = Number(byId("got").value);
    byId("got-shown").textContent = ml(got);
    const box = byId("split-result");
    const silent = CubitalNumbers.whySilent(policy, today());
    if (silent) return show(box, silentWords(silent), { stop: true });
    const found = CubitalNumbers.split(policy, got);
    const [first, second] = found.amounts;
    let words = say("split", { got: ml(got), first: ml(first), second: ml(second) });
    if (found.short) words += ` ${say("split_short", { low: ml(policy.bottles[policy.adult.aerobic].minimum / 10) })}`;
    else if (second === 0) words += ` ${say("split_one")}`;
    if (found.unused) words += ` ${say("split_unused", { unused: ml(found.unused) })}`;
    return show(box, words);
  }

  let ticking = 0;

  function startTimer(seconds, label) {
    window.clearInterval(ticking);
    const end = Date.now() + seconds * 1000;
    const tick = () => {
      const left = Math.max(0, Math.ceil((end - Date.now()) / 1000));
      byId("clock").textContent = left > 0 ? `${left} s` : say("done");
      if (left === 0) window.clearInterval(ticking);
    };
    byId("clock-label").textContent = label;
    tick();
    ticking = window.setInterval(tick, 200);
  }

  /* The policy's rules for an age group in months; with their ages where no single rule holds for the whole group. */
  function skinRules([from, to]) {
    const rules = policy.skin.filter((rule) => rule.from < to && from < rule.to);
    const whole = rules.length === 1 && rules[0].from <= from && to <= rules[0].to;
    return rules.map((rule) => {
      const ages = `${Math.max(from, rule.from)} – ${Math.min(to, rule.to)} ${say("months")}: `;
      return { rule, ages: whole ? "" : ages };
    });
  }

  function answerTimers() {
    const box = byId("timer-box");
    box.replaceChildren();
    const silent = CubitalNumbers.whySilent(policy, today());
    if (silent) return show(byId("timer-result"), silentWords(silent), { stop: true });
    const span = AGE_GROUPS[chosen("timer-age")];
    if (!span) return undefined;
    const rules = skinRules(span);
    if (!rules.length) return show(byId("timer-result"), say("no_time"), { stop: true });
    show(byId("timer-result"), rules.map(({ ages, rule }) => `${ages}${rule.agent}. ${rule.caution}`.trim()).join(" "));
    const times = rules.flatMap(({ ages, rule }) => [[ages + say("rub"), rule.friction], [ages + say("dry"), rule.dry]]);
    for (const [label, seconds] of [...times, [say("top_rub"), policy.tops.friction], [say("top_dry"), policy.tops.dry]]) {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = `${label}: ${seconds} s`;
      button.addEventListener("click", () => startTimer(seconds, label));
      box.append(button);
    }
    return undefined;
  }

  function answerStep(rule) {
    const silent = CubitalNumbers.whySilent(policy, today());
    if (silent) return show(byId("step-result"), silentWords(silent), { stop: true });
    return show(byId("step-result"), `${rule.next} (${say("section", { section: rule.section })})`, { into: true });
  }

  function open(name) {
    for (const section of document.querySelectorAll("main section")) section.hidden = section.id !== name;
    for (const button of document.querySelectorAll("nav button")) {
      button.setAttribute("aria-current", String(button.dataset.open === name));
    }
    window.scrollTo(0, 0);
  }

  function speak() {
    document.documentElement.lang = language;
    for (const element of document.querySelectorAll("[data-say]")) element.textContent = say(element.dataset.say);
    document.title = say("title");
    answerSplit();
    answerTimers();
    byId("plan-result").replaceChildren();
    byId("step-result").replaceChildren();
  }

  byId("plan-form").addEventListener("submit", (event) => {
    event.preventDefault();
    answerPlan();
  });
  /* A number must never stand beside changed inputs. */
  byId("plan-form").addEventListener("input", () => byId("plan-result").replaceChildren());
  byId("got").addEventListener("input", answerSplit);
  for (const input of document.querySelectorAll('input[name="timer-age"]')) input.addEventListener("change", answerTimers);
  for (const button of document.querySelectorAll("nav button")) button.addEventListener("click", () => open(button.dataset.open));
  byId("room").addEventListener("click", () => {
    const root = document.documentElement;
    if (root.dataset.room) delete root.dataset.room;
    else root.dataset.room = "dark";
  });
  byId("language").addEventListener("click", () => {
    language = language === "en" ? "es" : "en";
    speak();
  });
  const list = byId("step-list");
  for (const rule of policy.steps) {
    const item = document.createElement("li");
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = rule.situation;
    button.addEventListener("click", () => answerStep(rule));
    item.append(button);
    list.append(item);
  }
  if (CubitalNumbers.whySilent(policy, today())) {
    byId("silent").hidden = false;
    byId("silent").textContent = silentWords(CubitalNumbers.whySilent(policy, today()));
  }
  open("volume");
  speak();
})();
