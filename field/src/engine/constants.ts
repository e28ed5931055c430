/** The thresholds and shares of the reckoning, as the compiled call says them. */

const NAMES = {
  CALLER_SLIP: "belief.caller_slip",
  PROOF_ERROR: "belief.proof_error",
  COMES_BACK: "aftermath.comes_back",
  PAIR_SHARE: "compile_family.pair_share",
  SOLVED: "ending.solved",
  RUN_ON_PHONE: "ending.run_on_phone",
  MOST_WORLDS: "forecast.most_worlds",
  KEPT_MASS: "forecast.kept_mass",
  BEST_CHECKS: "planner.best_checks",
  LEAST_BITS: "planner.least_bits",
  REDO: "planner.redo",
  CLOSED_AT: "need.closed_at",
  TELLING_BITS: "telling.least_bits",
  LIKELY_WORLDS: "telling.likely_worlds",
  WORTH_TRYING: "idle.worth_trying",
  WORTH_DOING: "idle.worth_doing",
  LIKELIER_THAN_NOT: "unmended.likelier_than_not",
  THRESHOLD_SPREADS: "conflict.threshold_spreads",
  THRESHOLD_NATS: "conflict.threshold_nats",
  SUSPECT_NATS: "conflict.suspect_nats",
  NEAR_TIE: "explanation.near_tie",
  LIKELY: "explanation.likely",
  WORTH_SAYING: "advice.worth_saying",
  WORTH_LOADING: "loading.worth_loading",
  STEPS: "guide.steps",
  SURE: "expected.sure",
  NAMED_LATENT: "latent.named",
  NAMED: "summary.named",
  TOLD: "summary.told",
  FLOOR: "family.likelihood_floor",
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
