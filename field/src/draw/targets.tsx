/** Today's targets: this unit's own model and the published chart side by side, with a verdict. */

import { circuitOf } from "../engine/circuit.ts";
import { rounded } from "../engine/expected.ts";
import type { Verdict } from "../engine/expected_target.ts";
import type { Guide } from "../engine/guide.ts";
import type { Counted, Judged, Target, Todays } from "../engine/targets.ts";
import { capital } from "../words/acts.ts";

const DEGF_PER_K = 1.8;
const ZERO_DEGF = 459.67;
const BTU_H_PER_W = 3.412142;
const PA_PER_PSI = 6894.757;

/** How a quantity is written: its unit, and a value in it. */
const FORMS: Readonly<Record<Counted, { readonly unit: string; readonly write: (value: number) => string }>> = {
  K: { unit: "\u00b0F", write: whole },
  W: { unit: "Btu/h", write: hundreds },
  Pa: { unit: "psig", write: (pascal) => (pascal / PA_PER_PSI).toFixed(0) },
};

/** An air known no better than this was hardly measured (K, assumed). */
const HARDLY_MEASURED_K = 1.2;

const VERDICTS: Readonly<Record<Exclude<Verdict, "">, readonly [string, string]>> = {
  ok: ["\u2713", "In order"],
  low: ["\u2193", "Too low"],
  high: ["\u2191", "Too high"],
  "too-close": ["\u2248", "Too close to call"],
};

/** All targets under the demand that stands. */
export function TargetsPage({ guide }: { readonly guide: Guide }) {
  const demand = circuitOf(guide)?.demand ?? "";
  const todays = guide.targets(demand);
  if (todays === null) {
    return (
      <p class="tell">
        This call carries no targets for this unit: no refrigerant runs in it now, or the call was
        compiled before its nameplate was read. Load it again with signal.
      </p>
    );
  }
  return (
    <div class="stack" data-targets>
      <Quantities todays={todays} of={todays.judged} />
      <p class="quiet small">
        Give or take: one standard deviation of the target, with the weather as well as it is known.
        {" \u201c"}Too close to call{"\u201d"}: the uncertainty of target and instrument reaches over
        the edge of what passes. <Measuring isHeating={todays.demand === "heat"} />
      </p>
    </div>
  );
}

/** What there is to mind under each demand. */
function Measuring({ isHeating }: { readonly isHeating: boolean }) {
  if (isHeating) {
    return (
      <>
        Charging chart and split table are for cooling and do not hold in heating: here the unit
        {"\u2019"}s own model speaks alone, and for pressures it is no limit to charge by. Read with the
        strips off and no defrost for ten minutes. Nothing here reads the capacity in heating.
      </>
    );
  }
  return (
    <>
      Capacity is worked out from both dry and wet bulbs and the condensate of a minute, once all
      five are read: no check reads the airflow itself, but the water caught tells it. Within ten
      percent passes (assumed).
    </>
  );
}

/** The targets that are of use beside a check; nothing where there are none. */
export function TargetsBeside({ guide, checkId }: { readonly guide: Guide; readonly checkId: string }) {
  const look = guide.family.checks.get(checkId)?.look ?? null;
  const todays = look === null || guide.situation.onPhone ? null : guide.targets(look.demand);
  const beside = guide.call.targets?.beside ?? {};
  const of = todays?.judged.filter(({ quantity }) => beside[quantity]?.includes(look!.of)) ?? [];
  if (todays === null || of.length === 0) return null;
  return (
    <details class="targets">
      <summary>{`Today\u2019s targets: ${of.map(shortly).join(", ")}`}</summary>
      <div class="stack">
        <Quantities todays={todays} of={of} />
      </div>
    </details>
  );
}

/** Heading and quantities; what the model says of all of them alike is said once. */
function Quantities({ todays, of }: { readonly todays: Todays; readonly of: readonly Judged[] }) {
  const notes = new Set(of.map(({ targets }) => targets[0]?.note ?? ""));
  const shared = notes.size === 1 ? ([...notes][0] ?? "") : "";
  return (
    <>
      <Heading todays={todays} />
      {shared !== "" && <p class="tell">{capital(shared)}.</p>}
      {of.map((one) => (
        <Quantity one={one} shared={shared} key={one.quantity} />
      ))}
    </>
  );
}

/** A quantity with the first target that has a number. */
function shortly({ title, counted, targets }: Judged): string {
  const { unit, write } = FORMS[counted];
  const first = targets.find(({ value }) => value !== null);
  return `${title.toLowerCase()} ${first === undefined ? "none" : write(first.value!)} ${unit}`;
}

function Heading({ todays }: { readonly todays: Todays }) {
  const { tons, refrigerant, valve, today } = todays;
  const [outdoor, indoor, wet] = today.air.map((k) => (k * DEGF_PER_K - ZERO_DEGF).toFixed(0));
  const isGuessed = today.spread.some((k) => k > HARDLY_MEASURED_K);
  return (
    <>
      <p>
        For {tons} tons, {refrigerant}, {valve ? "expansion valve" : "fixed orifice"}; {outdoor} °F
        outdoors, return air {indoor} °F, wet bulb {wet} °F.
      </p>
      {isGuessed && (
        <p class="tell">
          Measure outdoor air, return air and its wet bulb first: until then the targets are wide.
        </p>
      )}
    </>
  );
}

function Quantity({ one, shared }: { readonly one: Judged; readonly shared: string }) {
  const { unit } = FORMS[one.counted];
  const isJudged = one.counted === "K" || one.reading !== null;
  return (
    <table class="numbers targets" data-quantity={one.quantity}>
      <caption>
        {one.title}
        {one.reading !== null && <strong>{` ${readWords(one, one.reading)}`}</strong>}
      </caption>
      <thead>
        <tr>
          <th scope="col">Target from</th>
          <th scope="col">{unit}</th>
          {isJudged && one.counted !== "Pa" && <th scope="col">Verdict</th>}
        </tr>
      </thead>
      <tbody>
        {one.targets.map((target) => (
          <Row
            target={target.note === shared ? { ...target, note: "" } : target}
            counted={one.counted}
            isJudged={isJudged && one.counted !== "Pa"}
            isRead={one.reading !== null}
            key={target.source}
          />
        ))}
      </tbody>
    </table>
  );
}

interface RowProps {
  readonly target: Target;
  readonly counted: Counted;
  readonly isJudged: boolean;
  readonly isRead: boolean;
}

function Row({ target, counted, isJudged, isRead }: RowProps) {
  const { source, value, note, verdict } = target;
  return (
    <tr>
      <th scope="row">
        {capital(source)}
        {note !== "" && <span class="quiet small note">{note}</span>}
      </th>
      <td>{value === null ? "none" : amount(target, value, counted)}</td>
      {isJudged && (
        <td class="verdict" data-verdict={verdict}>
          {verdict === "" ? (isRead ? "" : "not read") : <Called verdict={verdict} />}
        </td>
      )}
    </tr>
  );
}

function Called({ verdict }: { readonly verdict: Exclude<Verdict, ""> }) {
  const [sign, words] = VERDICTS[verdict];
  return (
    <>
      <span aria-hidden="true">{sign} </span>
      {words}
    </>
  );
}

function amount({ deviation, band }: Target, value: number, counted: Counted): string {
  const { write } = FORMS[counted];
  if (deviation === 0) return `${write(value - band)} to ${write(value + band)}`;
  return `${write(value)} \u00b1 ${write(deviation)}`;
}

function readWords({ counted, deviation }: Judged, reading: number): string {
  if (counted === "K") return `${rounded(reading * DEGF_PER_K)} \u00b0F read`;
  const { unit, write } = FORMS[counted];
  if (counted === "Pa") return `${write(reading)} ${unit} read`;
  return `${write(reading)} \u00b1 ${write(deviation)} ${unit} measured`;
}

function whole(kelvin: number): string {
  return (kelvin * DEGF_PER_K).toFixed(0);
}

function hundreds(watts: number): string {
  return (Math.round((watts * BTU_H_PER_W) / 100) * 100).toLocaleString("en-US");
}
