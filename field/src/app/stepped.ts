/** The guide of the open call, its next step worked out, and those after it while the page rests. */

import type { Catalog } from "../engine/catalog.ts";
import type { CompiledCall } from "../engine/compiled_call.ts";
import { Guide } from "../engine/guide.ts";
import { ahead, typed } from "../engine/readiness.ts";
import type { Bodies } from "../trail/body.ts";
import type { CallState } from "../trail/state.ts";
import { meanwhile } from "./meanwhile.ts";

let before: CompiledCall | null = null;
let leave: () => void = () => undefined;
let leaveTyped: () => void = () => undefined;

/** So long after the last digit a number is taken for typed, though nobody has entered it yet. */
const TYPED_MS = 100;

/**
 * The guide with its next step worked out, timed for the browser's own tools: the first of a call that
 * was opened, and those after something was said.
 */
export function stepped(state: CallState, call: CompiledCall, data: Catalog): Guide {
  leave();
  leaveTyped();
  const start = performance.now();
  const guide = new Guide(state, call, data);
  if (guide.phase !== "closed") {
    void guide.plan;
    performance.measure(before === call ? "next step" : "first step", { start });
    requestAnimationFrame(() => setTimeout(() => performance.measure("shown", { start })));
    leave = meanwhile(ahead(guide));
  }
  before = call;
  return guide;
}

/** Works out what follows on a number that is being typed, so that it is there when it is entered. */
export function foreseen(guide: Guide, body: Bodies["reading_taken"]): void {
  leaveTyped();
  const later = setTimeout(() => (leaveTyped = meanwhile(typed(guide, body))), TYPED_MS);
  leaveTyped = () => clearTimeout(later);
}
