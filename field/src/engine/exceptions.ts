/**
 * Most worlds have the same row of a check's table. The others are listed once, so that a sum over all
 * worlds needs to look at them alone.
 */

/** The row most worlds have, and the worlds that have another, with theirs. */
export interface Exceptions {
  readonly usual: number;
  readonly worlds: Int32Array;
  readonly rows: Uint16Array;
}

const known = new WeakMap<Uint16Array, Exceptions>();

/** The worlds that have another row than most; made once for the rows of a table. */
export function exceptionsOf(row: Uint16Array, count: number): Exceptions {
  let found = known.get(row);
  if (found === undefined) known.set(row, (found = exceptionsAnew(row, count)));
  return found;
}

function exceptionsAnew(row: Uint16Array, count: number): Exceptions {
  const times = new Int32Array(count);
  for (const r of row) times[r]! += 1;
  let usual = 0;
  for (let r = 1; r < count; r++) if (times[r]! > times[usual]!) usual = r;
  const others = row.length - (times[usual] ?? 0);
  const worlds = new Int32Array(others);
  const rows = new Uint16Array(others);
  let at = 0;
  for (let w = 0; w < row.length; w++) {
    if (row[w] === usual) continue;
    worlds[at] = w;
    rows[at++] = row[w]!;
  }
  return { usual, worlds, rows };
}
