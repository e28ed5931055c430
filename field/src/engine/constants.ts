/** The thresholds and shares of the reckoning, as the compiled call says them. */

const NAMES = {
  FLOOR: "family.likelihood_floor",
  PAIR_SHARE: "compile_family.pair_share",
  LEAST_DEPRESSION_K: "panel.least_depression_k",
  ATMOSPHERE_PA: "panel_quantity.atmosphere_pa",
  CALLER_SLIP: "panel_reading.caller_slip",
  SLIP: "panel_likelihood.slip",
  PROOF_ERROR: "belief.proof_error",
  TAKEN_FOR_WORKING: "belief.taken_for_working",
  STAYS: "outside.stays",
  MOST_FOR_OUTSIDE: "outside.most_for_outside",
  COMES_BACK: "aftermath.comes_back",
  LOOKS_ALIKE: "aftermath.looks_alike",
  THRESHOLD_SPREADS: "conflict.threshold_spreads",
  THRESHOLD_NATS: "conflict.threshold_nats",
  SUSPECT_NATS: "conflict.suspect_nats",
  TELLING_BITS: "telling.least_bits",
  LIKELY_WORLDS: "telling.likely_worlds",
  NAMED_LATENT: "latent.named",
  DOUBT_K: "questioned.doubt_k",
  UNLIKE: "doubt.unlike",
  HOLDS_LESS: "doubt.holds_less",
  MOST_DOUBT: "doubt.most",
  SOLVED: "ending.solved",
  RUN_ON_PHONE: "ending.run_on_phone",
  MOST_WORLDS: "forecast.most_worlds",
  KEPT_MASS: "forecast.kept_mass",
  CLOSED_AT: "need.closed_at",
  REDO: "draft.redo",
  MOST_TRIES: "job.most_tries",
  LEAST_GAP: "lookahead.least_gap",
  LOOKAHEAD_DECIMALS: "lookahead.decimals",
  ASK_FOR: "planner.ask_for",
  BEST_CHECKS: "planner.best_checks",
  DECIMALS: "planner.decimals",
  LEAST_BITS: "planner.least_bits",
  WORTH_TRYING: "worthwhile.worth_trying",
  WORTH_DOING: "worthwhile.worth_doing",
  NEAR_TIE: "explanation.near_tie",
  LIKELY: "explanation.likely",
  WORTH_SAYING: "advice.worth_saying",
  WORTH_LOADING: "loading.worth_loading",
  STEPS: "guide.steps",
  SURE: "expected.sure",
  NAMED: "summary.named",
  TOLD: "summary.told",
} as const;

export type Constants = { readonly [K in keyof typeof NAMES]: number };

/** Picks the constants by name; throws TypeError where one is missing. */
export function constantsOf(said: Readonly<Record<string, number>>): Constants {
  const found = Object.entries(NAMES).map(([name, key]) => {
    const value = said[key];
    if (typeof value !== "number") throw new TypeError(`the constant ${key} is missing`);
    return [name, value];
  });
  return Object.fromEntries(found) as Constants;
}
