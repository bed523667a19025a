import { describe, expect, it } from 'vitest';
import { endChoices } from './ends';
import { blank, take, type Command, type Entry, type Scene } from './entry';
import { defaultKeys, KeyMap, leftHand, type Signal } from './keys';
import { vocabulary as v } from './sample';

const scene: Scene = {
  vocabulary: v, oursDefend: true, matchups: { h3: 'm2' }, onFloor: ['m1', 'm2', 'm3', 'm4', 'm5'],
  slots: ['h1', 'h2', 'h3', 'h4', undefined, 'm1', 'm2', 'm3', 'm4', 'm5']
};

function run(keys: string, s: Partial<Scene> = {}): { entry: Entry; commands: Command[] } {
  let entry: Entry = blank;
  const commands: Command[] = [];
  for (const k of keys.split(' ')) {
    const step = take(entry, defaultKeys[k] as Signal, { ...scene, ...s });
    entry = step.entry;
    if (step.command) commands.push(step.command);
  }
  return { entry, commands };
}

describe('an entry', () => {
  it.each([
    ['all of it', 'Digit3 KeyF KeyJ', {}, { do: 'act', kind: 'drive', outcome: 'stopped', defender: 'h3', opponent: 'm2' }],
    ['the last defender', 'KeyF KeyL', { lastDefender: 'h1' }, { do: 'act', kind: 'drive', outcome: 'beaten', defender: 'h1' }],
    ['the prospect before the last', 'KeyD KeyO', { lastDefender: 'h1', focus: 'h2' }, { do: 'act', kind: 'contest', outcome: 'bit', defender: 'h2' }],
    ['an attacker named before', 'Digit1 KeyQ Digit8 KeyK', {}, { do: 'act', kind: 'chase', outcome: 'trailed', defender: 'h1', opponent: 'm3' }],
    ['a bare reading', 'Digit1 KeyV Shift+KeyL', {}, { do: 'act', kind: 'post', outcome: 'broken', defender: 'h1' }],
    ['a foul', 'Digit2 KeyF KeyH', {}, { do: 'act', kind: 'drive', outcome: 'fouled', defender: 'h2' }],
    ['nobody’s man', 'Backquote KeyE Period', {}, { do: 'act', kind: 'ball-screen', outcome: 'missed-switch' }],
    ['kind said twice: the last counts', 'Digit1 KeyF KeyS KeyJ', {}, { do: 'act', kind: 'closeout', outcome: 'contained', defender: 'h1' }],
    ['a chance’s end', 'Enter KeyJ', {}, { do: 'end', body: { end: 'missed-2', rebound: 'defence' }, owed: 0 }],
    ['an end with shooter and rebounder', 'Enter Digit6 Digit4 KeyJ', {}, { do: 'end', body: { end: 'missed-2', rebound: 'defence', shooter: 'm1', rebound_by: 'h4' }, owed: 0 }],
    ['a steal by name', 'Enter Digit2 KeyM', {}, { do: 'end', body: { end: 'turnover', turnover: 'steal', steal_by: 'h2' }, owed: 0 }],
    ['free throws', 'Enter Period', {}, { do: 'end', body: { end: 'free-throws' }, owed: 2 }],
    ['an attacker named after', 'Digit9', { lastAction: { id: 'a' } }, { do: 'name-attacker', action: 'a', opponent: 'm4' }]
  ] as [string, string, Partial<Scene>, Command][])('%s', (_, keys, s, want) => {
    const { entry, commands } = run(keys, s);
    expect(commands).toEqual([want]);
    expect(entry).toEqual(blank);
  });

  it('says what is missing and forgets nothing', () => {
    const { entry, commands } = run('Digit3 KeyJ');
    expect(commands).toEqual([{ do: 'hint', text: 'a kind first, then how it ended' }]);
    expect(entry.defender).toBe('h3');
    expect(run('KeyF KeyJ')).toMatchObject({ entry: { kind: 'drive' }, commands: [{ do: 'hint' }] }); // never nobody's by oversight
    expect(run('Digit5').commands[0]).toEqual({ do: 'hint', text: 'nobody at 5 yet' });
  });

  it('takes the other team’s digits as defenders when the ball changes', () => {
    expect(run('Digit7 KeyF KeyJ', { oursDefend: false }).commands[0]).toMatchObject({ defender: 'm2' });
  });

  it('undoes what was said before what was charted', () => {
    expect(run('Digit3 Backspace').commands).toEqual([]);
    expect(run('Digit3 Backspace Backspace').commands).toEqual([{ do: 'undo' }]);
  });
});

describe('the layout', () => {
  it('has a place for every kind, and every outcome of the table within a hand’s reach', () => {
    expect(new Set(leftHand(v.kinds.map((k) => k.kind)).filter(Boolean))).toEqual(new Set(v.kinds.map((k) => k.kind)));
    expect(leftHand(v.kinds.map((k) => k.kind))).toHaveLength(12);
    for (const k of v.kinds) for (const r of ['held', 'even', 'broken']) expect(k.outcomes.filter((o) => o.reading === r).length, k.kind).toBeLessThanOrEqual(3);
  });

  it('gives every end of the vocabulary, and every way to lose the ball, one key after Enter', () => {
    const choices = endChoices(v);
    for (const e of v.words.end!) expect(choices.some((c) => c.body.end === e), e).toBe(true);
    for (const t of v.words.turnover!) expect(choices.some((c) => c.body.turnover === t), t).toBe(true);
    expect(new Set(choices.map((c) => c.signal)).size).toBe(choices.length);
    const keyed = new Set<string>(Object.values(defaultKeys));
    for (const c of choices) expect(keyed.has(c.signal), c.signal).toBe(true);
  });
});

describe('remapping', () => {
  const memory = () => {
    const kept = new Map<string, string>();
    return { getItem: (k: string) => kept.get(k) ?? null, setItem: (k: string, x: string) => void kept.set(k, x) };
  };

  it('moves what lay on the key to the key that became free, and is remembered', () => {
    const m = memory();
    const keys = new KeyMap(m);
    keys.put('left:8', 'KeyD');
    expect([keys.signal('KeyD'), keys.signal('KeyF')]).toEqual(['left:8', 'left:7']);
    expect(new KeyMap(m).keyOf('left:8')).toBe('KeyD');
    keys.put('left:8', 'KeyF');
    expect([keys.signal('KeyD'), keys.signal('KeyF')]).toEqual(['left:7', 'left:8']);
    keys.put('undo', 'F9');
    expect([keys.signal('F9'), keys.signal('Backspace')]).toEqual(['undo', undefined]);
    keys.reset();
    expect(keys.signal('Backspace')).toBe('undo');
  });
});
