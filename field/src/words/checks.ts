/** Finding a check by words: every check of the system, whatever the present step is. */

import type { CheckEntry } from "../engine/catalog.ts";
import { likeness } from "./symptoms.ts";

const NEAR = 80;

/** The checks that fit the words best; a word counts double in the title. */
export function findChecks(words: string, checks: Iterable<CheckEntry>, limit: number): CheckEntry[] {
  const wanted = plain(words);
  if (wanted.length === 0) return [];
  const scored: { check: CheckEntry; score: number }[] = [];
  for (const check of checks) {
    const title = plain(`${check.title} ${check.id}`);
    const also = plain((check.also ?? []).join(" "));
    const told = plain(`${check.ask} ${check.phrases.join(" ")} ${check.tool}`);
    const score = wanted.reduce((sum, word) => sum + 2 * meets(word, [...title, ...also]) + meets(word, told), 0);
    if (score >= wanted.length) scored.push({ check, score: score / Math.sqrt(title.length) });
  }
  scored.sort((a, b) => b.score - a.score || (a.check.id < b.check.id ? -1 : 1));
  return scored.slice(0, limit).map(({ check }) => check);
}

function meets(word: string, among: readonly string[]): number {
  if (word.length === 1) return among.includes(word) ? 1 : 0;
  if (among.some((one) => one.startsWith(word))) return 1;
  return word.length > 3 && among.some((one) => likeness(word, one) >= NEAR) ? 0.7 : 0;
}

function plain(text: string): string[] {
  return text.toLowerCase().match(/[a-z0-9]+/g) ?? [];
}
