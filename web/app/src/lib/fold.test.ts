import { describe, expect, it } from 'vitest';
import type { Action, Draft, Event } from './events';
import { fold, owed, upcoming } from './fold';
import * as moves from './moves';
import { Script, vocabulary as v } from './sample';
import { undoing } from './undo';

const actions = (all: Map<string, Event>) => fold(v, all).chances.flatMap((c) => c.actions.map((a) => `${a.defender} ${a.kind} ${a.outcome} ${a.reading}`));

function add(s: Script, drafts: Draft[]): void {
  for (const d of drafts) s.add(d.type, d.body as never, { ...(d.id ? { id: d.id } : {}), ...(d.when ? { when: d.when } : {}), ...(d.after ? { after: d.after } : {}) });
}

describe('the fold', () => {
  it('adds up the score, with and-ones and free throws that come later', () => {
    const s = new Script().open();
    s.chance('h', 590, [], { end: 'made-3' });
    const c = s.chance('m', 570, [{ defender: 'h-1', outcome: 'fouled' }], { end: 'made-2' });
    expect(owed(fold(v, s.all).chances[1]!)).toBe(1);
    s.add('shots-taken', { chance: c, made: 1, attempted: 1, last: 'made' });
    s.add('penalty-shots', { team: 'h', made: 1, attempted: 2, why: 'technical' });
    const chart = fold(v, s.all);
    expect(chart.score).toEqual({ h: 4, m: 3 });
    expect(owed(chart.chances[1]!)).toBe(0);
  });

  it('does not depend on the order of arrival', () => {
    const s = new Script().open();
    s.chance('h', 590, [{ defender: 'm-1' }, { defender: 'm-1', kind: 'contest', outcome: 'open' }], { end: 'made-3' });
    s.chance('m', 570, [{ defender: 'h-1', outcome: 'fouled' }], { end: 'missed-2', rebound: 'offence' });
    const back = new Map([...s.all].reverse());
    expect(JSON.stringify(fold(v, back).chances)).toBe(JSON.stringify(fold(v, s.all).chances));
    expect(fold(v, s.all).chances[0]!.actions.map((a) => a.effort)).toEqual([1, 2]);
  });

  it('takes the deepest correction, restores over a void, and reads a foul to give as nothing', () => {
    const s = new Script().open();
    s.chance('m', 590, [{ defender: 'h-1', outcome: 'fouled' }], null);
    const a = () => fold(v, s.all).chances[0]!.actions[0]!;
    const first = a();
    expect(first.reading).toBe('broken');
    add(s, [moves.amend(first, { details: { foul: ['to-give'] } })]);
    expect(a().reading).toBe('');
    add(s, [moves.dropAction(a())]);
    expect(actions(s.all)).toEqual([]);
    const row = fold(v, s.all).rows.get(first.id)!;
    s.add('amended', { target: first.id, base: row.revision, body: { ...(row.body as Action), outcome: 'beaten', details: undefined } });
    expect(actions(s.all)).toEqual(['h-1 drive beaten broken']);
  });

  it('puts a wrong number right in one step, and takes that back', () => {
    const s = new Script().open();
    for (let i = 0; i < 12; i++) s.chance('m', 590 - 20 * i, [{ defender: 'h-12' }], { end: 'missed-2', rebound: 'defence' });
    const r = moves.reassign(fold(v, s.all), 'h-12', 'h-21', 10)!;
    add(s, [r.draft]);
    const who = () => fold(v, s.all).chances.map((c) => c.actions[0]!.defender);
    expect(who().filter((p) => p === 'h-21')).toHaveLength(10);
    expect(who().slice(0, 2)).toEqual(['h-12', 'h-12']);
    add(s, undoing(fold(v, s.all), { facts: [], before: [], moved: [r.draft.body as never] }));
    expect(who().filter((p) => p === 'h-12')).toHaveLength(12);
  });

  it('joins two chances: the first is kept with the second’s end', () => {
    const s = new Script().open();
    s.chance('m', 590, [{ defender: 'h-1' }], { end: 'missed-2', rebound: 'offence' });
    s.chance('m', 580, [{ defender: 'h-2' }], { end: 'made-2' });
    const [a, b] = fold(v, s.all).chances;
    add(s, moves.join(a!, b!));
    const c = fold(v, s.all).chances;
    expect(c).toHaveLength(1);
    expect(c[0]!.end!.end).toBe('made-2');
    expect(c[0]!.actions.map((x) => x.defender)).toEqual(['h-1', 'h-2']);
  });

  it('splits a chance and leaves the end with the second half', () => {
    const s = new Script().open();
    s.chance('m', 590, [{ defender: 'h-1' }, { defender: 'h-2' }], { end: 'made-2' });
    s.chance('h', 570, [{ defender: 'm-1' }], { end: 'made-3' });
    add(s, moves.split(fold(v, s.all).chances[0]!, 1, { end: 'missed-2', rebound: 'offence' }, 'm', 'offensive-rebound'));
    const c = fold(v, s.all).chances;
    expect(c.map((x) => `${x.offence} ${x.end?.end} ${x.actions.map((a) => a.defender).join('+')}`)).toEqual(['m missed-2 h-1', 'm made-2 h-2', 'h made-3 m-1']);
  });

  it('puts a missed chance where it belongs', () => {
    const s = new Script().open();
    s.chance('m', 590, [], { end: 'made-2' });
    s.chance('m', 550, [], { end: 'made-2' });
    const first = fold(v, s.all).chances[0]!;
    add(s, moves.insert(first, upcoming(first).offence, { end: 'turnover', turnover: 'travel' }).drafts);
    expect(fold(v, s.all).chances.map((c) => `${c.offence} ${c.end?.end}`)).toEqual(['m made-2', 'h turnover', 'm made-2']);
  });
});

describe('who has the ball next', () => {
  it.each([
    [{ end: 'made-2' }, 'h', 'make'],
    [{ end: 'missed-3', rebound: 'offence' }, 'm', 'offensive-rebound'],
    [{ end: 'missed-3', rebound: 'defence' }, 'h', 'defensive-rebound'],
    [{ end: 'missed-2', rebound: 'defence', team_rebound: true }, 'h', 'dead-ball'],
    [{ end: 'turnover', turnover: 'steal' }, 'h', 'steal'],
    [{ end: 'turnover', turnover: 'travel' }, 'h', 'dead-ball'],
    [{ end: 'jump-ball', next: 'offence' }, 'm', 'sideline']
  ])('after %o', (end, offence, origin) => {
    const t = new Script().open();
    t.chance('m', 500, [], end);
    expect(upcoming(fold(v, t.all).chances[0]!)).toEqual({ offence, origin });
  });
});
