/** Symbols of the trade on a conductor that runs downwards, 28 by 44, by the kind of part. */

export type SymbolName =
  | "source"
  | "wire"
  | "switch"
  | "contact"
  | "fuse"
  | "breaker"
  | "overload"
  | "coil"
  | "motor"
  | "heater"
  | "electronics"
  | "return";

const BY_TYPE: Readonly<Record<string, SymbolName>> = {
  breaker: "breaker",
  fuse: "fuse",
  level_switch: "switch",
  pressure_switch: "switch",
  safety_switch: "switch",
  switch: "switch",
  thermostat: "switch",
};

const BY_BRANCH: Readonly<Record<string, SymbolName>> = {
  coil: "coil",
  run: "motor",
  start: "motor",
  wire: "heater",
  element: "heater",
  overload: "overload",
  limit: "overload",
  link: "fuse",
  float: "switch",
};

const CONTACT = /^(pole|main|no|nc|.*_relay$)/;

/** The symbol of a line of a ladder. */
export function symbolOf(kind: string, part: string, branch: string): SymbolName {
  if (kind === "source") return "source";
  const end = branch.split(".")[1] ?? "";
  const isLoad = kind === "load";
  if (isLoad) return BY_BRANCH[end] ?? "electronics";
  if (part === "breaker") return "breaker";
  if (part === "" || part === "cable") return kind === "return" ? "return" : "wire";
  if (CONTACT.test(end)) return "contact";
  return BY_BRANCH[end] ?? BY_TYPE[part] ?? (kind === "return" ? "return" : "wire");
}

interface Props {
  readonly name: SymbolName;
  readonly open: boolean;
  readonly live: boolean;
}

/** What stands on the conductor; the conductor itself is drawn by the row. */
export function PartSymbol({ name, open, live }: Props) {
  return (
    <svg
      viewBox="0 0 28 44"
      width="28"
      height="44"
      class={live ? "part live" : "part"}
      aria-hidden="true"
    >
      {shapeOf(name, open)}
    </svg>
  );
}

function shapeOf(name: SymbolName, open: boolean) {
  switch (name) {
    case "source":
      return <circle class="dot" cx="14" cy="22" r="6" />;
    case "switch":
      return (
        <>
          <path class="gap" d="M14 12v20" />
          <circle class="ring" cx="14" cy="12" r="3" />
          <circle class="ring" cx="14" cy="32" r="3" />
          <path class="stroke" d={open ? "M14 32 25 16" : "M14 32 16 12"} />
        </>
      );
    case "contact":
      return (
        <>
          <path class="gap" d="M14 17v10" />
          <path class="stroke" d={open ? "M5 17h18M5 27h18" : "M5 17h18M5 27h18M8 31 20 13"} />
        </>
      );
    case "fuse":
      return (
        <>
          <rect class="box" x="8" y="11" width="12" height="22" rx="1" />
          <path class="stroke" d={open ? "M14 11v5M14 28v5" : "M14 11v22"} />
        </>
      );
    case "breaker":
      return (
        <>
          <path class="gap" d="M14 12v20" />
          <circle class="ring" cx="14" cy="12" r="3" />
          <circle class="ring" cx="14" cy="32" r="3" />
          <path class="stroke" d={open ? "M20 32a12 12 0 0 0 6-18" : "M18 32a12 12 0 0 0 0-20"} />
        </>
      );
    case "overload":
      return (
        <>
          <path class="gap" d="M14 12v20" />
          <path class="stroke" d={open ? "M14 12h-8v7M14 32h-8v-5" : "M14 12h-8v20h8"} />
        </>
      );
    case "coil":
      return <circle class="box" cx="14" cy="22" r="10" />;
    case "motor":
      return (
        <>
          <circle class="box" cx="14" cy="22" r="11" />
          <path class="stroke" d="M9 27v-10l5 6 5-6v10" />
        </>
      );
    case "heater":
      return (
        <>
          <path class="gap" d="M14 10v24" />
          <path class="stroke" d="M14 8v3l7 3-14 5 14 5-14 5 7 3v4" />
        </>
      );
    case "electronics":
      return (
        <>
          <rect class="box" x="5" y="13" width="18" height="18" rx="2" />
          <path class="stroke" d="M10 22h8" />
        </>
      );
    case "return":
      return <path class="stroke" d="M9 19l5-5 5 5" />;
    case "wire":
      return null;
  }
}
