/** What a kind of system looks like, from what its description says: indoor and outdoor unit. */

import type { ArchetypeEntry } from "../engine/catalog.ts";

export function SystemPicture({ kind }: { readonly kind: ArchetypeEntry }) {
  const heatPump = kind.demands.includes("emergency");
  const plastic = kind.furnace && kind.options.some((option) => option.id.includes("furnace_drain"));
  const condensing = plastic || kind.id.includes("condensing");
  return (
    <svg viewBox="0 0 220 120" role="img" aria-label={kind.title}>
      <path class="faint" d="M4 112 H216" />
      {kind.furnace ? <Furnace condensing={condensing} /> : <AirHandler />}
      <path class="line" d="M62 44 H118 V78 H140" stroke-dasharray="5 4" />
      <Outdoor heatPump={heatPump} />
    </svg>
  );
}

function Furnace({ condensing }: { readonly condensing: boolean }) {
  return (
    <g>
      <rect class="fill" x="22" y="58" width="40" height="54" rx="3" />
      <path class="fill" d="M22 58 L28 30 H56 L62 58 Z" />
      <path class="line accent" d="M42 100 c-7-6-4-11 0-17 c4 6 7 11 0 17 z" />
      {condensing ? (
        <path class="line" d="M30 58 V14 M36 58 V14" />
      ) : (
        <path class="line" d="M10 112 V20 M16 112 V20 M10 66 h12 M16 72 h6" />
      )}
      <text x="70" y="104" font-size="11" class="soft">
        gas
      </text>
    </g>
  );
}

function AirHandler() {
  return (
    <g>
      <rect class="fill" x="22" y="26" width="40" height="86" rx="3" />
      <path class="line" d="M28 62 L42 42 L56 62" />
      <circle class="line" cx="42" cy="94" r="10" />
      <path class="line accent" d="M30 74 l4 5 4-5 4 5 4-5 4 5 4-5" />
      <text x="70" y="104" font-size="11" class="soft">
        electric
      </text>
    </g>
  );
}

function Outdoor({ heatPump }: { readonly heatPump: boolean }) {
  return (
    <g>
      <rect class="fill" x="140" y="58" width="56" height="54" rx="4" />
      <ellipse class="line" cx="168" cy="66" rx="20" ry="5" />
      <path class="faint" d="M148 78 V106 M156 78 V106 M164 78 V106 M172 78 V106 M180 78 V106 M188 78 V106" />
      {heatPump ? (
        <g class="accent">
          <path class="line accent" d="M152 40 h30 l-7-6 M182 48 h-30 l7 6" />
        </g>
      ) : (
        <path class="line accent" d="M168 28 v22 M158 34 l20 11 M178 34 l-20 11" />
      )}
    </g>
  );
}
