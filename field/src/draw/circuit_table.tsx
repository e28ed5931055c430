/** The numbers behind a chart: as read, in order, and with the likeliest cause. */

import { callPath } from "../app/route.ts";
import type { CircuitReading, CircuitState } from "../engine/circuit.ts";
import { inUsualUnit } from "../engine/circuit.ts";
import { rounded } from "../engine/expected.ts";
import type { Guide } from "../engine/guide.ts";
import { plainUnits } from "../words/numbers.ts";

/** Further from what is in order than so many standard deviations: marked (assumed). */
const FAR = 2;

interface Props {
  readonly guide: Guide;
  readonly state: CircuitState;
  readonly quantities: readonly string[];
}

export function CircuitTable({ guide, state, quantities }: Props) {
  const rows = quantities.flatMap((of) => state.readings.get(of) ?? []);
  const withCause = state.cause !== null;
  return (
    <table class="numbers">
      <thead>
        <tr>
          <th scope="col">Reading</th>
          <th scope="col">Read</th>
          <th scope="col">In order</th>
          {withCause && <th scope="col">With the cause</th>}
        </tr>
      </thead>
      <tbody>
        {rows.map((row) => (
          <Row guide={guide} row={row} withCause={withCause} key={row.of} />
        ))}
      </tbody>
    </table>
  );
}

function Row({
  guide,
  row,
  withCause,
}: {
  readonly guide: Guide;
  readonly row: CircuitReading;
  readonly withCause: boolean;
}) {
  const { data } = guide;
  const check = data.checks.get(row.checkId);
  const unit = plainUnits(check?.number?.unit ?? "");
  const shown = (kept: number): string => rounded(inUsualUnit(data, row.checkId, kept));
  const { inOrder, measured } = row;
  const far =
    measured !== null && inOrder !== null && Math.abs(measured - inOrder.mean) > FAR * inOrder.spread;
  return (
    <tr>
      <th scope="row">
        <a href={`#/${callPath(guide.state.callId, "find", row.checkId)}`}>{check?.title ?? row.of}</a>,{" "}
        {unit}
      </th>
      <td class={far ? "differs" : ""}>
        {measured === null ? <Nothing words="not read" /> : shown(measured)}
        {far && <span class="hidden"> (far from what is in order)</span>}
      </td>
      <td>
        {inOrder === null ? (
          <Nothing words="cannot be said" />
        ) : (
          <>
            {shown(inOrder.mean)}
            <span class="quiet"> {"\u00b1"}{spreadWords(guide, row)}</span>
          </>
        )}
      </td>
      {withCause && <td>{row.withCause === null ? <Nothing words="cannot be said" /> : shown(row.withCause.mean)}</td>}
    </tr>
  );
}

/** The standard deviation of what is in order, in the check's unit. */
function spreadWords({ data }: Guide, { checkId, inOrder }: CircuitReading): string {
  if (inOrder === null) return "";
  const at = (kept: number): number => inUsualUnit(data, checkId, kept);
  const wide = Math.abs(at(inOrder.mean + inOrder.spread) - at(inOrder.mean));
  return wide >= 10 ? wide.toFixed(0) : wide.toFixed(1);
}

function Nothing({ words }: { readonly words: string }) {
  return (
    <span class="quiet">
      <span aria-hidden="true">{"\u2013"}</span>
      <span class="hidden">{words}</span>
    </span>
  );
}
