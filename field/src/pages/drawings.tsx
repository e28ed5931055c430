/** Drawings of the system: wiring, drain, air and refrigerant. */

import type { Guide } from "../engine/guide.ts";
import { Heading } from "./parts.tsx";

export function DrawingsPage({ guide }: { readonly guide: Guide }) {
  return (
    <>
      <Heading>Drawings</Heading>
      <p>{guide.archetype}</p>
    </>
  );
}
