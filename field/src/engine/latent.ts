/** Latent defects: what shows no symptom today and would bring the technician back (latent.py). */

import type { Belief, Reading } from "./belief.ts";
import { byCode } from "./belief.ts";
import { settingWeights } from "./causes.ts";

export interface LatentModel {
  readonly id: string;
  readonly title: string;
  readonly needs_option: Readonly<Record<string, readonly string[]>>;
  readonly log_odds: number;
  readonly by_option: boolean;
  readonly found_by: readonly string[];
  readonly evidence: readonly {
    readonly check_id: string;
    readonly answer_id: string;
    readonly technician: number;
    readonly caller: number;
  }[];
}

export interface Latent {
  readonly id: string;
  readonly title: string;
  readonly share: number;
  readonly foundBy: readonly string[];
  readonly because: readonly string[];
  readonly named: boolean;
}

type Shares = Readonly<Record<string, Readonly<Record<string, number>>>>;

/** The share of each value of each option of the system. */
export function optionShares(belief: Belief, unsettled: Shares): Shares {
  const weights = settingWeights(belief);
  const found: Record<string, Record<string, number>> = {};
  belief.family.settings.forEach((setting, s) => {
    for (const [option, value] of Object.entries(setting)) {
      const values = (found[option] ??= {});
      values[value] = (values[value] ?? 0) + weights[s]!;
    }
  });
  return { ...unsettled, ...found };
}

/** Weighs every latent defect this system can have, the likeliest first. */
export function latentDefects(
  models: readonly LatentModel[],
  readings: readonly Reading[],
  shares: Shares,
  least: number,
): Latent[] {
  const last = new Map(readings.map((reading) => [reading.checkId, reading]));
  return models
    .map((model) => ({ model, possible: possibleShare(model, shares) }))
    .filter(({ possible }) => possible > 0)
    .map(({ model, possible }) => weighed(model, possible, last, least))
    .sort((a, b) => b.share - a.share || byCode(a.id, b.id));
}

function possibleShare(model: LatentModel, shares: Shares): number {
  let share = 1;
  for (const [option, values] of Object.entries(model.needs_option)) {
    share *= values.reduce((sum, value) => sum + (shares[option]?.[value] ?? 0), 0);
  }
  return Math.min(share, 1);
}

function weighed(
  model: LatentModel,
  possible: number,
  last: ReadonlyMap<string, Reading>,
  least: number,
): Latent {
  const { id, title } = model;
  const named = (share: number, because: readonly string[]): Latent => ({
    id,
    title,
    share,
    foundBy: model.found_by,
    because,
    named: share > least,
  });
  if (model.by_option) return named(possible, []);
  let odds = model.log_odds;
  const because: string[] = [];
  for (const reading of last.values()) {
    const told = model.evidence.find(
      (one) => one.check_id === reading.checkId && one.answer_id === reading.outcomeId,
    );
    const weight = told?.[reading.reporter] ?? 0;
    odds += weight;
    if (weight > 0) because.push(reading.checkId);
  }
  return named(possible / (1 + Math.exp(-odds)), because);
}
