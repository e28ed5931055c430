/** A house cut open, with the place of the step marked: the small picture of where. */

import type { ComponentChildren } from "preact";

interface Spot {
  readonly x: number;
  readonly y: number;
}

/** Where the indoor unit stands, by the option's value. */
const INDOOR: Readonly<Record<string, Spot>> = {
  attic: { x: 74, y: 36 },
  closet: { x: 66, y: 76 },
  basement: { x: 66, y: 112 },
  crawlspace: { x: 66, y: 115 },
  garage: { x: 19, y: 82 },
};

const SPOTS: Readonly<Record<string, Spot>> = {
  thermostat: { x: 98, y: 68 },
  panel: { x: 44, y: 74 },
  outdoor_unit: { x: 144, y: 86 },
  drain_outlet: { x: 121, y: 92 },
  ducts: { x: 92, y: 49 },
  roof: { x: 60, y: 18 },
  rooms: { x: 84, y: 84 },
};

export function spotOf(place: string, location: string): Spot | null {
  if (place === "indoor_unit") return INDOOR[location] ?? INDOOR["closet"]!;
  return SPOTS[place] ?? null;
}

interface Props {
  readonly place: string;
  readonly location: string;
  readonly title: string;
}

export function House({ place, location, title }: Props) {
  const spot = spotOf(place, location);
  const unit = INDOOR[location] ?? INDOOR["closet"]!;
  return (
    <svg viewBox="0 0 168 132" role="img" aria-label={`A house cut open, marked: ${title}`}>
      <path class="faint" d="M2 97 H34 M112 97 H166" />
      <Wall>
        <path class="line" d="M34 56 V97 H112 V56" />
        <path class="line" d="M26 60 L73 12 L120 60" />
        <path class="faint" d="M34 56 H112" />
        <path class="line" d="M6 97 V66 L34 60" />
        <path class="faint" d="M40 97 V124 H106 V97" />
        <path class="line" d="M54 30 V14 h8 V22" />
      </Wall>
      <path class="faint" d="M44 49 H104 M52 49 v7 M96 49 v7" stroke-dasharray="3 3" />
      <rect class="fill" x={unit.x - 7} y={unit.y - 8} width="14" height="16" rx="2" />
      <rect class="fill" x="133" y="77" width="22" height="20" rx="2" />
      <circle class="faint" cx="144" cy="87" r="6" />
      <path class="faint" d="M112 92 h8" />
      <rect class="fill" x="94" y="65" width="8" height="6" rx="1" />
      <rect class="fill" x="40" y="70" width="8" height="10" rx="1" />
      {spot !== null && (
        <g>
          <circle cx={spot.x} cy={spot.y} r="15" class="accent" fill="none" stroke-width="4" />
          <circle cx={spot.x} cy={spot.y} r="5" class="solid" />
        </g>
      )}
    </svg>
  );
}

function Wall({ children }: { readonly children: ComponentChildren }) {
  return <g>{children}</g>;
}
