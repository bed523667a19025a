// The grammar of an entry, [defender] kind outcome [attacker], as a function of
// what has been said so far and the next signal. There are no modes to be in:
// any signal is taken at any time, and what an entry lacks is filled from what
// is known.
import type { ChanceEnded, Spot } from './events';
import { endChoices, withNames, type EndChoice } from './ends';
import { leftHand, type Signal } from './keys';
import { gridOf, type Column, type Vocabulary } from './vocabulary';

export interface Entry {
  defender?: string; // '' means nobody
  attacker?: string;
  kind?: string;
  spot?: Spot;
  ending: boolean;
  shooter?: string;
  winner?: string; // who got the ball: rebound or steal
  editing?: string; // the id of an earlier action
}

export const blank: Entry = { ending: false };

// Scene is what an entry may lean on.
export interface Scene {
  vocabulary: Vocabulary;
  slots: (string | undefined)[]; // ten: ours 0–4, theirs 5–9
  oursDefend: boolean;
  focus?: string;
  lastDefender?: string;
  matchups: Record<string, string>; // defender to attacker
  onFloor: string[]; // the attackers
  lastAction?: { id: string }; // in the current chance
  edited?: { id: string; kind: string };
}

export type Command =
  | { do: 'act'; kind: string; outcome: string; defender?: string; opponent?: string; spot?: Spot }
  | { do: 'name-attacker'; action: string; opponent: string }
  | { do: 'amend'; action: string; change: { kind?: string; outcome?: string; defender?: string; opponent?: string } }
  | { do: 'drop'; action: string }
  | { do: 'end'; body: Omit<ChanceEnded, 'chance'>; owed: number }
  | { do: 'undo' }
  | { do: 'hint'; text: string };

export interface Step { entry: Entry; command?: Command }

const is = (e: Entry): boolean => e.defender !== undefined || e.attacker !== undefined || e.kind !== undefined || e.spot !== undefined;

// empty reports whether nothing has been said yet.
export const empty = (e: Entry): boolean => !is(e) && !e.ending && !e.editing;

export function take(entry: Entry, signal: Signal, scene: Scene): Step {
  const [what, a, b] = signal.split(':') as [string, string?, string?];
  switch (what) {
    case 'player': return player(entry, Number(a), scene);
    case 'nobody': return { entry: { ...entry, defender: '' } };
    case 'left': return entry.ending ? end(entry, signal, scene) : kind(entry, Number(a), scene);
    case 'cell': return entry.ending ? end(entry, signal, scene) : cell(entry, a as Column, Number(b), scene);
    case 'inner': return entry.ending ? end(entry, signal, scene) : outcome(entry, everyKind[Number(a) - 1]!, scene);
    case 'bare': return outcome(entry, a!, scene);
    case 'end': return { entry: { ...blank, ending: !entry.ending, spot: entry.spot } };
    case 'clear': return { entry: blank };
    case 'undo': return undo(entry);
  }
  return { entry };
}

// everyKind lies in the column between the hands, top to bottom.
export const everyKind = ['charge-drawn', 'fouled', 'unclear'];

function player(entry: Entry, n: number, scene: Scene): Step {
  const id = scene.slots[n - 1];
  if (!id) return { entry, command: { do: 'hint', text: `nobody at ${n % 10} yet` } };
  const defends = n <= 5 === scene.oursDefend;
  if (entry.editing) {
    return { entry, command: { do: 'amend', action: entry.editing, change: defends ? { defender: id } : { opponent: id } } };
  }
  if (entry.ending) return { entry: defends ? { ...entry, winner: id } : { ...entry, shooter: id } };
  if (defends) return { entry: { ...entry, defender: id } };
  if (!is(entry) && scene.lastAction) return { entry, command: { do: 'name-attacker', action: scene.lastAction.id, opponent: id } };
  return { entry: { ...entry, attacker: id } };
}

function kind(entry: Entry, place: number, scene: Scene): Step {
  const k = leftHand(scene.vocabulary.kinds.map((r) => r.kind))[place - 1];
  return k ? { entry: { ...entry, kind: k } } : { entry };
}

function cell(entry: Entry, column: Column, row: number, scene: Scene): Step {
  const k = entry.kind ?? scene.edited?.kind;
  if (!k) return { entry, command: { do: 'hint', text: 'a kind first, then how it ended' } };
  const o = gridOf(scene.vocabulary, k)[column][row - 1];
  return o ? outcome(entry, o.outcome, scene) : { entry };
}

function outcome(entry: Entry, word: string, scene: Scene): Step {
  const k = entry.kind ?? scene.edited?.kind;
  if (!k) return { entry, command: { do: 'hint', text: 'a kind first, then how it ended' } };
  if (entry.editing) {
    return { entry: { ...blank, editing: entry.editing }, command: { do: 'amend', action: entry.editing, change: { kind: k, outcome: word } } };
  }
  const who = entry.defender ?? scene.focus ?? scene.lastDefender;
  if (who === undefined) return { entry, command: { do: 'hint', text: 'whose was it? A number first, or the key for nobody' } };
  const match = who ? scene.matchups[who] : undefined;
  const whom = entry.attacker ?? (match && scene.onFloor.includes(match) ? match : undefined);
  return {
    entry: blank,
    command: {
      do: 'act', kind: k, outcome: word, ...(who ? { defender: who } : {}), ...(whom ? { opponent: whom } : {}),
      ...(entry.spot ? { spot: entry.spot } : {})
    }
  };
}

function end(entry: Entry, signal: Signal, scene: Scene): Step {
  const choice = endAt(scene.vocabulary, signal);
  if (!choice) return { entry };
  return { entry: blank, command: { do: 'end', body: withNames(choice.body, entry), owed: choice.owed ?? 0 } };
}

const choices = new WeakMap<Vocabulary, EndChoice[]>();

export function endAt(v: Vocabulary, signal: Signal): EndChoice | undefined {
  let list = choices.get(v);
  if (!list) choices.set(v, (list = endChoices(v)));
  return list.find((c) => c.signal === signal);
}

function undo(entry: Entry): Step {
  if (entry.editing && entry.kind === undefined) return { entry: blank, command: { do: 'drop', action: entry.editing } };
  if (!empty(entry)) return { entry: blank };
  return { entry, command: { do: 'undo' } };
}

