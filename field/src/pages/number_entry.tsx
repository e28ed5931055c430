/** A number off an instrument with its unit, and where it counts what is printed on the part. */

import { useState } from "preact/hooks";
import type { NumberForm, Unit } from "../engine/catalog.ts";
import { asModelled } from "../engine/catalog.ts";
import type { Entered } from "../words/numbers.ts";
import {
  isOutside,
  keptSpanWords,
  modelledPrint,
  percent,
  plainUnits,
  readNumber,
  spanWords,
  withPrint,
} from "../words/numbers.ts";

interface Props {
  readonly form: NumberForm;
  readonly id: string;
  /** The span of what may be shown here, as kept; null where it is not known. */
  readonly usual: readonly [number, number] | null;
  readonly keep: (entered: Entered | "OL") => void;
  /** Told of every number while it is being typed. */
  readonly typed?: (entered: Entered) => void;
}

/** What is printed on the part, as a field of an event; nothing where it does not count. */
export function printedField({ printed }: Entered): { readonly printed?: number } {
  return printed === undefined ? {} : { printed };
}

/**
 * A number with its unit; what was typed stays, and what is wrong is said beside it. A number that
 * nothing would show here is asked back once.
 */
export function NumberEntry({ form, id, usual, keep, typed }: Props) {
  const [text, setText] = useState("");
  const [unitName, setUnitName] = useState(form.unit);
  const [printText, setPrintText] = useState<string | null>(null);
  const [wrong, setWrong] = useState("");
  const [odd, setOdd] = useState<Entered | null>(null);
  const unit = form.units.find((one) => one.name === unitName) ?? form.units[0]!;
  const modelled = modelledPrint(form, unit);
  const shownPrint = printText ?? modelled;
  const anew = (): void => {
    setWrong("");
    setOdd(null);
  };
  const read = (now: string): Entered | string => {
    const entered = readNumber(form, now, unit);
    if (typeof entered === "string" || modelled === "") return entered;
    return withPrint(form, entered, shownPrint, unit);
  };
  const submit = (event: Event): void => {
    event.preventDefault();
    if (form.over_limit && /^o\.?l\.?$/i.test(text.trim())) {
      keep("OL");
      return;
    }
    const entered = read(text);
    if (typeof entered === "string") {
      setWrong(entered);
      return;
    }
    if (usual !== null && isOutside(form, usual, entered)) {
      setOdd(entered);
      setWrong(askedBack(form, usual, unit, entered));
      return;
    }
    keep(entered);
  };
  const field = `number-${id.replaceAll("/", "-")}`;
  return (
    <form class="field" onSubmit={submit} noValidate>
      {modelled !== "" && (
        <>
          <label for={`${field}-print`}>
            Printed on {form.printed_on}, in {plainUnits(unit.name)}
          </label>
          <input
            id={`${field}-print`}
            type="text"
            inputMode="decimal"
            autoComplete="off"
            value={shownPrint}
            onInput={(event) => {
              setPrintText(event.currentTarget.value);
              anew();
            }}
          />
        </>
      )}
      <label for={field}>What the instrument shows, in {plainUnits(unit.name)}</label>
      <div class="number">
        <input
          id={field}
          type="text"
          inputMode="decimal"
          autoComplete="off"
          enterKeyHint="done"
          value={text}
          aria-invalid={wrong !== ""}
          aria-describedby={`${field}-note`}
          onInput={(event) => {
            const now = event.currentTarget.value;
            setText(now);
            anew();
            const entered = read(now);
            if (typeof entered !== "string") typed?.(entered);
          }}
        />
        {form.units.length > 1 && (
          <select
            aria-label="Unit"
            value={unitName}
            onChange={(event) => {
              setUnitName(event.currentTarget.value);
              anew();
            }}
          >
            {form.units.map((one) => (
              <option key={one.name} value={one.name}>
                {plainUnits(one.name)}
              </option>
            ))}
          </select>
        )}
      </div>
      <span id={`${field}-note`} class={wrong === "" ? "quiet small" : "wrong"} role="status">
        {wrong === "" ? noteWords(form, usual, unit, text === "" ? "" : read(text)) : wrong}
      </span>
      <div class="row">
        <button class="main" type="submit">
          Enter the reading
        </button>
        {odd !== null && (
          <button type="button" onClick={() => keep(odd)}>
            Enter it all the same
          </button>
        )}
        {form.over_limit && (
          <button type="button" onClick={() => keep("OL")}>
            It shows OL (over limit)
          </button>
        )}
      </div>
    </form>
  );
}

/** The share of what is printed, once both are typed; before that what is plausible. */
function noteWords(
  form: NumberForm,
  usual: Props["usual"],
  unit: Unit,
  entered: Entered | string,
): string {
  if (typeof entered !== "string" && entered.printed !== undefined) {
    return `That is ${percent(entered.value / entered.printed)} of what is printed.`;
  }
  if (usual === null) return `Plausible: ${spanWords(form, unit)}`;
  const print = modelledPrint(form, unit);
  const where = print === "" ? "" : ` where ${print} is printed`;
  return `To be expected here: ${keptSpanWords(form, usual, unit)}${where}, whatever is wrong`;
}

/** Asks back for a number that would not be shown here whatever is wrong. */
function askedBack(
  form: NumberForm,
  usual: readonly [number, number],
  unit: Unit,
  entered: Entered,
): string {
  const { value, siValue, printed } = entered;
  const share = siValue === 0 ? 1 : siValue / asModelled(form, siValue, value, printed);
  const [low, high] = usual;
  const span = keptSpanWords(form, [low * share, high * share], unit);
  return (
    `${value} ${plainUnits(entered.unit)} is outside ${span}, which is all that ` +
    "is to be expected here, whatever is wrong. Is it typed right, in the right unit?"
  );
}
