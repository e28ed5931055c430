/** Work that nobody waits for: in pieces, while the browser has nothing else to do. */

const LEAST_MS = 8;
const LATEST_MS = 2000;

type Idle = { readonly timeRemaining: () => number };

/** Does one piece after the other while the page rests; what it gives back leaves the rest undone. */
export function meanwhile(pieces: Iterator<void>): () => void {
  let wanted = true;
  const go = (idle: Idle): void => {
    do {
      if (!wanted || pieces.next().done === true) return;
    } while (idle.timeRemaining() > LEAST_MS);
    whenIdle(go);
  };
  whenIdle(go);
  return () => {
    wanted = false;
  };
}

/** Does all pieces as soon as may be, and lets the page breathe between them. */
export async function atOnce(pieces: Iterable<void>): Promise<void> {
  for (const piece of pieces) {
    void piece;
    await new Promise((done) => setTimeout(done));
  }
}

function whenIdle(act: (idle: Idle) => void): void {
  if ("requestIdleCallback" in window) {
    window.requestIdleCallback(act, { timeout: LATEST_MS });
  } else {
    setTimeout(() => act({ timeRemaining: () => 0 }), 50);
  }
}
