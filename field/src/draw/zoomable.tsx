/** A drawing that can be made twice as large and then moved about. */

import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";

export function Zoomable({ children }: { readonly children: ComponentChildren }) {
  const [large, setLarge] = useState(false);
  return (
    <>
      <div
        class={large ? "drawing zoomed" : "drawing"}
        role="group"
        aria-label="Drawing"
        tabIndex={large ? 0 : -1}
      >
        {children}
      </div>
      <button type="button" aria-pressed={large} onClick={() => setLarge(!large)}>
        {large ? "Smaller" : "Larger"}
      </button>
    </>
  );
}
