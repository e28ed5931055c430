/** How old the equipment is, who called and where: what every form about a call asks. */

export interface People {
  readonly age: string;
  readonly caller: string;
  readonly address: string;
}

export function PeopleFields({
  fields,
  wrongAge,
  change,
}: {
  readonly fields: People;
  /** What is wrong with the age as typed; empty if nothing. */
  readonly wrongAge: string;
  readonly change: (changed: Partial<People>) => void;
}) {
  return (
    <>
      <div class="field">
        <label for="age">Age of the equipment, in years</label>
        <input
          id="age"
          type="text"
          inputMode="decimal"
          autoComplete="off"
          value={fields.age}
          aria-invalid={wrongAge !== ""}
          aria-describedby="age-note"
          onInput={(event) => change({ age: event.currentTarget.value })}
        />
        <span id="age-note" class={wrongAge === "" ? "quiet small" : "wrong"}>
          {wrongAge === "" ? "About is good enough. Empty: not known." : wrongAge}
        </span>
      </div>
      <Line
        id="caller"
        label="Caller: name and number"
        value={fields.caller}
        change={(caller) => change({ caller })}
      />
      <Line
        id="address"
        label="Address"
        value={fields.address}
        change={(address) => change({ address })}
      />
    </>
  );
}

function Line({
  id,
  label,
  value,
  change,
}: {
  readonly id: string;
  readonly label: string;
  readonly value: string;
  readonly change: (value: string) => void;
}) {
  return (
    <div class="field">
      <label for={id}>{label}</label>
      <input
        id={id}
        type="text"
        autoComplete="off"
        value={value}
        onInput={(event) => change(event.currentTarget.value)}
      />
    </div>
  );
}
