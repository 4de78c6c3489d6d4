/* The arithmetic of the bedside card. It is the Python of cubital.bedside written again, operation by operation, so that
   both give the same double; a test in a real browser compares them over a grid of more than 200,000 cases.
   Pure functions of the policy (see card_policy.py for its shape). Nothing here reads or stores anything. */
"use strict";

const CubitalNumbers = (() => {
  const ADULT_FROM_MONTHS = 216;
  const floorTenth = (volume) => Math.floor(volume * 10 + 1e-9) / 10;

  /* "" when the policy may speak on that day (YYYY-MM-DD); otherwise why not. */
  function whySilent(policy, today) {
    const { approvedBy, approvedOn, reviewBy, madeOn } = policy;
    if (!approvedBy || !approvedOn || !reviewBy) return "draft";
    if (madeOn && today < madeOn) return "clock"; /* a clock set back must not revive an expired card */
    if (approvedOn > today) return "future";
    return today > reviewBy ? "expired" : "";
  }

  /* Shares tenths of a millilitre among bottles {minimum, maximum} (in tenths), in order of priority. */
  function splitTenths(got, bottles) {
    let left = got;
    let served = 0;
    const amounts = bottles.map(() => 0);
    for (let index = 0; index < bottles.length; index += 1) {
      if (left < bottles[index].minimum || left === 0) break;
      amounts[index] = bottles[index].minimum;
      left -= bottles[index].minimum;
      served = index + 1;
    }
    const short = served === 0 && left > 0 && bottles.length > 0;
    for (let index = 0; index < Math.max(served, short ? 1 : 0); index += 1) {
      const more = Math.min(left, bottles[index].maximum - amounts[index]);
      amounts[index] += more;
      left -= more;
    }
    return { amounts, unused: left, short };
  }

  function split(policy, gotMl) {
    const bottles = [policy.bottles[policy.adult.aerobic], policy.bottles[policy.adult.anaerobic]];
    const found = splitTenths(Math.floor(gotMl * 10 + 1e-9), bottles);
    return { amounts: found.amounts.map((tenths) => tenths / 10), unused: found.unused / 10, short: found.short };
  }

  function weightKg(policy, weight, unit) {
    return unit === "kg" ? weight : weight * policy.factors.kgPerLb;
  }

  function haemoglobinGdl(policy, value, unit) {
    if (unit === "g/dL") return value;
    if (unit === "g/L") return value * policy.factors.gdlPerGl;
    return (value * policy.factors.haemoglobinGramPerMol * policy.factors.gdlPerGramPerLitre) / 1000;
  }

  const isChild = (policy, patient) => policy.child !== null && patient.ageMonths < policy.child.belowMonths;

  /* null when the weight can be right for the age; otherwise the plausible range [low, high] in kg. */
  function implausible(policy, patient) {
    const month = Math.floor(patient.ageMonths);
    let [low, high] = policy.adult.weights;
    if (month >= policy.growth.length && isChild(policy, patient)) {
      low = Math.min(low, policy.growth[policy.growth.length - 1][0]);
    }
    if (month >= 0 && month < policy.growth.length) {
      [low, high] = policy.growth[month];
      if (patient.ageMonths < policy.preterm.months) low = Math.min(low, policy.preterm.kg);
    }
    return low <= patient.weightKg && patient.weightKg <= high ? null : [low, high];
  }

  function fill(bottles, total, low, limitedBy, discuss, steps) {
    if (!bottles.length) return { refusal: "no_bottle", detail: "", steps };
    const found = splitTenths(Math.floor(total * 10 + 1e-9), bottles);
    const placed = found.amounts.reduce((sum, tenths) => sum + tenths, 0) / 10;
    if (placed === 0) return { refusal: "cap_reached", detail: limitedBy, steps };
    return {
      refusal: "",
      total: placed,
      low,
      amounts: bottles.map((bottle, index) => [bottle.key, found.amounts[index] / 10]),
      discuss,
      limitedBy: placed < total ? "bottle" : limitedBy,
      steps,
    };
  }

  const inBand = (bands, value) => bands.find((band) => band.from <= value && value < band.to) || null;

  function held(policy, keys, atHand) {
    return keys.filter((key) => !atHand.length || atHand.includes(key)).map((key) => policy.bottles[key]);
  }

  /* A bottle whose minimum the total does not reach comes last; the pair needs its aerobic bottle. */
  function childBottles(policy, atHand, total, single) {
    const ones = held(policy, policy.child.bottles, atHand);
    const reached = ones.filter((bottle) => bottle.minimum / 10 <= total);
    const pair = held(policy, [policy.adult.aerobic, policy.adult.anaerobic], atHand);
    if (single) return (reached.length ? reached : ones).slice(0, 1);
    const useful = pair.length > 0 && pair[0].key === policy.adult.aerobic && pair[0].minimum / 10 <= total;
    if (useful) return pair;
    if (reached.length && total <= reached[0].maximum / 10) return reached.slice(0, 1);
    return [reached, pair, ones].find((bottles) => bottles.length) || [];
  }

  function planChild(policy, patient, atHand) {
    const child = policy.child;
    const band = inBand(child.bands, patient.weightKg);
    const age = inBand(child.bloodVolumes, patient.ageMonths);
    if (!band || !age) return { refusal: "outside_table", detail: "", steps: {} };
    const discuss = patient.haemoglobin !== null && patient.haemoglobin < child.anaemiaBelow;
    const volume = patient.weightKg * age.mlPerKg;
    const single = volume * child.singleShare;
    const singleUsed = discuss ? single * child.anaemiaFactor : single;
    const day = volume * child.dayShare;
    const left = Math.max(0, day - patient.takenMl);
    const steps = { volume, single, singleUsed, day, left };
    const limits = [["table", floorTenth(band.high)], ["single_draw", floorTenth(singleUsed)], ["day", floorTenth(left)]];
    const [limitedBy, total] = limits.reduce((best, next) => (next[1] < best[1] ? next : best));
    if (total < floorTenth(band.low)) return { refusal: "cap_reached", detail: limitedBy, steps };
    const bottles = childBottles(policy, atHand, total, total <= band.oneBottle);
    return fill(bottles, total, band.low, limitedBy, discuss, steps);
  }

  /* Never for a child without a table, nor for a weight that the policy does not call an adult's. */
  function planAdult(policy, patient, atHand) {
    if (policy.child === null && patient.ageMonths < ADULT_FROM_MONTHS) return { refusal: "no_table", detail: "", steps: {} };
    const [low, high] = policy.adult.weights;
    if (!(low <= patient.weightKg && patient.weightKg <= high)) return { refusal: "outside_table", detail: "", steps: {} };
    const day = policy.adult.dayCap;
    const left = Math.max(0, day - patient.takenMl);
    const steps = { day, left };
    const bottles = held(policy, [policy.adult.aerobic, policy.adult.anaerobic], atHand);
    if (bottles.length && floorTenth(left) < bottles[0].minimum / 10) {
      return { refusal: "cap_reached", detail: "day", steps };
    }
    const wanted = bottles.reduce((sum, bottle) => sum + bottle.maximum / 10, 0);
    const limitedBy = left < wanted ? "day" : "bottle";
    const found = fill(bottles, Math.min(wanted, floorTenth(left)), 0, limitedBy, false, steps);
    return found.refusal ? found : { ...found, sets: policy.adult.sets };
  }

  /* patient: {weightKg, ageMonths, haemoglobin (g/dL or null), takenMl}; atHand: bottle keys, all if empty. */
  function plan(policy, patient, atHand, today) {
    const silent = whySilent(policy, today);
    if (silent) return { refusal: "silent_policy", detail: silent, steps: {} };
    const span = implausible(policy, patient);
    if (span) return { refusal: "implausible", detail: span, steps: {} };
    return isChild(policy, patient) ? planChild(policy, patient, atHand) : planAdult(policy, patient, atHand);
  }

  return { whySilent, split, splitTenths, weightKg, haemoglobinGdl, implausible, plan };
})();
