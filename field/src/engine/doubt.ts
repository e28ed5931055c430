/** How far to believe what the worlds say of a repair, after what repairs have shown (see doubt.py). */

import type { Constants } from "./constants.ts";

/** How likely a repair is to get it working, mindful that this home may be like none of the worlds. */
export function tempered(chance: number, doubt: number, { HOLDS_LESS }: Constants): number {
  return chance * (1 - doubt * (1 - HOLDS_LESS));
}

/** The doubt after a repair that the worlds gave a chance, and what came of it (Bayes). */
export function afterTry(
  doubt: number,
  chance: number,
  worked: boolean,
  { HOLDS_LESS, MOST_DOUBT }: Constants,
): number {
  const like = worked ? chance : 1 - chance;
  const unlike = worked ? HOLDS_LESS * chance : 1 - HOLDS_LESS * chance;
  const total = doubt * unlike + (1 - doubt) * like;
  return total > 0 ? Math.min((doubt * unlike) / total, MOST_DOUBT) : doubt;
}
