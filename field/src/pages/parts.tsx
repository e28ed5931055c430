/** What several pages show in the same way. */

import type { ComponentChildren } from "preact";
import { useEffect, useState } from "preact/hooks";
import { callPath } from "../app/route.ts";
import { NO_FAULT } from "../engine/causes.ts";
import type { Guide } from "../engine/guide.ts";
import { causeWords } from "../words/acts.ts";
import { dollars, percent } from "../words/numbers.ts";

/** A share as a bar; the number stands beside it in words. */
export function Meter({ share }: { readonly share: number }) {
  return (
    <span class="meter" aria-hidden="true">
      <span style={{ width: `${(100 * share).toFixed(1)}%` }} />
    </span>
  );
}

/** The likeliest cause and how sure, what is known, cost so far and expected: always in sight. */
export function Standing({ guide }: { readonly guide: Guide }) {
  const { leading: first, roots } = guide.causes;
  const hardly = first.id === NO_FAULT && first.probability < 0.5;
  const leading = hardly ? (roots[0] ?? first) : first;
  const { minutes, partsDollars } = guide.spent;
  const spent = minutes * guide.family.dollarsPerMinute + partsDollars;
  const known = guide.state.timeline.filter((entry) => entry.kind === "reading_taken").length;
  const rest = guide.phase === "closed" ? 0 : guide.ahead.dollars;
  const ahead = rest < 0.5 ? "" : ` \u00b7 about ${dollars(rest)} ahead`;
  return (
    <a class="standing" href={`#/${callPath(guide.state.callId, "why")}`}>
      <div>
        <div class="lead">
          <span>
            <span class="hidden">Likeliest: </span>
            {causeWords(guide.data, leading.id)}
          </span>
          <span class="sure">{percent(leading.probability)}</span>
        </div>
        <Meter share={leading.probability} />
        <div class="facts">
          {known} {known === 1 ? "thing" : "things"} known {"\u00b7"} {dollars(spent)} so far{ahead}
        </div>
      </div>
    </a>
  );
}

/** A page's heading takes the focus when the page opens, so that readers begin there. */
export function Heading({ children }: { readonly children: ComponentChildren }) {
  return (
    <h1
      tabIndex={-1}
      ref={(element) => {
        if (element !== null && document.activeElement === document.body) element.focus();
      }}
    >
      {children}
    </h1>
  );
}

export function Trouble({ text, dismiss }: { readonly text: string; readonly dismiss: () => void }) {
  return (
    <div class="tell trouble row spread" role="alert">
      <span>{text}</span>
      <button type="button" onClick={dismiss}>
        Understood
      </button>
    </div>
  );
}

/** Causes with their shares, the likeliest first. */
export function Shares({
  rows,
}: {
  readonly rows: readonly { readonly name: string; readonly share: number }[];
}) {
  return (
    <ul class="shares">
      {rows.map(({ name, share }) => (
        <li key={name}>
          <div class="name">
            <span>{name}</span>
            <span>{percent(share)}</span>
          </div>
          <Meter share={share} />
        </li>
      ))}
    </ul>
  );
}

/** The address of an image kept on this device, given back when it is no longer shown. */
export function useImage(image: Blob): string {
  const [address, setAddress] = useState("");
  useEffect(() => {
    const made = URL.createObjectURL(image);
    setAddress(made);
    return () => URL.revokeObjectURL(made);
  }, [image]);
  return address;
}
