/** What is settled about a system by now, and was not when its call was compiled. */

import type { Guide } from "../engine/guide.ts";
import { entriesOf, settingsOf } from "../trail/state.ts";

/**
 * The options that were described, or read by a technician off the system itself, at another value than
 * the compiled call has. What a look settles by the way is weighed already, and compiles nothing anew.
 */
export function settledAnew({ state, data, call, options }: Guide): Record<string, string> {
  const told = new Set(Object.keys(settingsOf(state)));
  for (const { body } of entriesOf(state, "reading_taken")) {
    const check = data.checks.get(body.check_id);
    const byTechnician = (body.reported_by ?? "technician") === "technician";
    if (check?.quantity === "option" && byTechnician) told.add(check.of);
  }
  const found: Record<string, string> = {};
  for (const name of [...told].sort()) {
    const value = options[name];
    if (value !== undefined && value !== call.description.options[name]) found[name] = value;
  }
  return found;
}
