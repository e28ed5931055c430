/**
 * From a caller's words to the questions they answer (see symptom_search.py): what is found is a
 * proposal to be confirmed, never a reading.
 */

import type { Catalog, CheckEntry, SymptomIndex } from "../engine/catalog.ts";

export interface Match {
  readonly checkId: string;
  readonly title: string;
  readonly answerId: string;
  readonly label: string;
  readonly score: number;
}

type Saying = SymptomIndex["sayings"][number];

/** What a caller's words may mean, the best first, each check once. */
export function searchSymptoms(
  text: string,
  data: Catalog,
  archetype: string,
  limit: number,
): Match[] {
  const reader = new Reader(data.symptoms);
  const best = new Map<string, Match>();
  for (const clause of reader.clauses(text)) {
    for (const match of matches(reader, clause, data)) {
      const { archetypes } = data.checks.get(match.checkId)!;
      const fits = archetype === "" || archetypes.length === 0 || archetypes.includes(archetype);
      if (fits && match.score > (best.get(match.checkId)?.score ?? 0)) {
        best.set(match.checkId, match);
      }
    }
  }
  return [...best.values()]
    .sort((a, b) => b.score - a.score || (a.checkId < b.checkId ? -1 : 1))
    .slice(0, limit);
}

/** Reads words as the index does: stemmed, with words of one meaning made one. */
class Reader {
  readonly denials: ReadonlySet<string>;
  private readonly stop: ReadonlySet<string>;
  private readonly denying: ReadonlySet<string>;
  private readonly rewrites: readonly (readonly [RegExp, string])[];
  private readonly vocabulary: readonly string[];

  constructor(readonly index: SymptomIndex) {
    this.stop = new Set(index.stop);
    this.denials = new Set(index.denials);
    this.denying = new Set(index.denying);
    this.rewrites = index.rewrites.map(([pattern, text]) => [new RegExp(pattern, "g"), text]);
    this.vocabulary = Object.keys(index.telling);
  }

  words(text: string): string[] {
    let plain = text.toLowerCase().replaceAll("\u2019", "'");
    for (const [pattern, replacement] of this.rewrites) plain = plain.replace(pattern, replacement);
    const found = plain.match(/[a-z0-9]+/g) ?? [];
    return found
      .filter((word) => !this.stop.has(word) || this.denials.has(word))
      .map((word) => this.canonical(word));
  }

  clauses(text: string): string[] {
    const whole = text.trim();
    const parts = text
      .split(new RegExp(this.index.splits))
      .map((part) => (part ?? "").trim())
      .filter((part) => this.words(part).length > 0);
    return [...new Set(this.words(whole).length > 0 ? [...parts, whole] : parts)];
  }

  denies(words: readonly string[]): boolean {
    return words.filter((word) => this.denying.has(word)).length % 2 === 1;
  }

  tells(word: string): number {
    return this.index.telling[word] ?? this.index.numbers["unheard"]!;
  }

  /** Words of the catalog that are spelt nearly so. */
  near(word: string): Set<string> {
    if (word.length < 4) return new Set([word]);
    const least = this.index.numbers["spelling"]!;
    const hits = this.vocabulary
      .map((known) => ({ known, score: likeness(word, known) }))
      .filter(({ score }) => score >= least)
      .sort((a, b) => b.score - a.score)
      .slice(0, 5);
    return new Set([word, ...hits.map(({ known }) => known)]);
  }

  private canonical(word: string): string {
    const { same } = this.index;
    if (word in same) return same[word]!;
    if (this.denials.has(word)) return word;
    const stem = this.stem(word);
    return same[stem] ?? stem;
  }

  private stem(word: string): string {
    for (const ending of this.index.endings) {
      if (!word.endsWith(ending) || word.length - ending.length < 3) continue;
      const stem = word.slice(0, -ending.length);
      if (ending === "ies" || ending === "ied") return `${stem}y`;
      const doubled = stem.at(-1) === stem.at(-2) && !"lsz".includes(stem.at(-1)!);
      if (["ing", "ings", "ed"].includes(ending) && doubled) return stem.slice(0, -1);
      return stem;
    }
    return word;
  }
}

function matches(reader: Reader, clause: string, data: Catalog): Match[] {
  const said = reader.words(clause);
  const near = new Map(said.map((word) => [word, reader.near(word)]));
  const found: Match[] = [];
  for (const saying of reader.index.sayings) {
    const score = scoreOf(reader, said, near, saying);
    const check = data.checks.get(saying.check_id);
    if (score <= reader.index.numbers["least"]! || check === undefined) continue;
    const answerId = saying.answer_id || answerOf(reader, check, said, saying);
    const label = check.answers.find((answer) => answer.id === answerId)?.label ?? "";
    found.push({ checkId: check.id, title: check.title, answerId, label, score });
  }
  return found;
}

function scoreOf(
  reader: Reader,
  said: readonly string[],
  near: ReadonlyMap<string, ReadonlySet<string>>,
  saying: Saying,
): number {
  const understood = new Set([...near.values()].flatMap((words) => [...words]));
  const wanted = new Set(saying.tokens);
  let total = 0;
  let agreed = 0;
  for (const word of wanted) {
    total += reader.tells(word);
    if (understood.has(word)) agreed += reader.tells(word);
  }
  if (agreed <= 0) return 0;
  let heard = 0;
  let met = 0;
  for (const [word, some] of near) {
    heard += reader.tells(word);
    if ([...some].some((one) => wanted.has(one))) met += reader.tells(word);
  }
  const score = 100 * saying.weight * ((0.7 * agreed) / total + (0.3 * met) / heard);
  return reader.denies(said) === reader.denies(saying.tokens) ? score : 0.5 * score;
}

/** The answer that words give, or nothing where it has to be asked. */
function answerOf(
  reader: Reader,
  check: CheckEntry,
  said: readonly string[],
  saying: Saying,
): string {
  const ids = check.answers.map((answer) => answer.id);
  const same = reader.denies(said) === reader.denies(saying.tokens);
  if (check.complaint) return same ? ids[0]! : "";
  const named = namedAnswer(reader, check, said);
  if (named !== "") return named;
  const usual = reader.index.usual[check.id] ?? ids[ids.length - 1]!;
  const others = ids.filter((id) => id !== usual);
  if (others.length !== 1) return "";
  const reassuring = reader.index.reassuring.some((word) => said.includes(word));
  return same !== reassuring ? others[0]! : usual;
}

/** The answer whose label the words name, if one is named more clearly than the others. */
function namedAnswer(reader: Reader, check: CheckEntry, said: readonly string[]): string {
  const silent = new Set([...reader.words(check.title), ...reader.denials]);
  const denied = said.some((word) => reader.denials.has(word));
  const shares = check.answers.map(({ label }) => {
    const words = new Set(reader.words(label));
    if (denied !== [...words].some((word) => reader.denials.has(word))) return 0;
    const fitting = [...words].filter((word) => !silent.has(word));
    return fitting.filter((word) => said.includes(word)).length / Math.max(fitting.length, 1);
  });
  const best = Math.max(...shares);
  const once = shares.filter((share) => share === best).length === 1;
  return best > 0 && once ? check.answers[shares.indexOf(best)]!.id : "";
}

/** Likeness of two words, 0 to 100: twice their longest common subsequence over both lengths. */
export function likeness(one: string, two: string): number {
  let row = new Uint8Array(two.length + 1);
  for (const letter of one) {
    const next = new Uint8Array(two.length + 1);
    for (let j = 1; j <= two.length; j++) {
      next[j] = two[j - 1] === letter ? row[j - 1]! + 1 : Math.max(row[j]!, next[j - 1]!);
    }
    row = next;
  }
  const both = one.length + two.length;
  return both === 0 ? 100 : (200 * row[two.length]!) / both;
}
