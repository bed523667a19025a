// How a chance may end, laid on the same places as kinds and outcomes: under
// the right hand what it cost (the left column the ball is ours, the middle it
// goes on, the right they scored), under the left hand the ways to lose the ball.
import type { ChanceEnded } from './events';
import type { Signal } from './keys';
import { isMiss, isShot } from './rules';
import { say, type Vocabulary } from './vocabulary';

export interface EndChoice {
  signal: Signal;
  label: string;
  hint: string;
  body: Omit<ChanceEnded, 'chance'>;
  owed?: number; // free throws to come
}

const right: Omit<EndChoice, 'label'>[] = [
  { signal: 'cell:held:1', hint: 'defence has it', body: { end: 'missed-2', rebound: 'defence' } },
  { signal: 'cell:held:2', hint: 'defence has it', body: { end: 'missed-3', rebound: 'defence' } },
  { signal: 'cell:held:3', hint: 'no more said', body: { end: 'turnover' } },
  { signal: 'cell:even:1', hint: 'offence has it', body: { end: 'missed-2', rebound: 'offence' } },
  { signal: 'cell:even:2', hint: 'offence has it', body: { end: 'missed-3', rebound: 'offence' } },
  { signal: 'cell:even:3', hint: 'offence keeps it', body: { end: 'jump-ball', next: 'offence' } },
  { signal: 'cell:broken:1', hint: '', body: { end: 'made-2' } },
  { signal: 'cell:broken:2', hint: '', body: { end: 'made-3' } },
  { signal: 'cell:broken:3', hint: 'then [ ]', body: { end: 'free-throws' }, owed: 2 },
  { signal: 'inner:1', hint: 'and one', body: { end: 'made-3' }, owed: 1 },
  { signal: 'inner:2', hint: 'and one', body: { end: 'made-2' }, owed: 1 },
  { signal: 'inner:3', hint: 'no try', body: { end: 'period-end' } }
];

// turnoverPlaces puts the commonest ways to lose the ball on the home row.
const turnoverPlaces: Record<string, number> = {
  'bad-pass': 8, 'steal': 7, 'out': 6, 'travel': 5, 'charge': 4, 'illegal-screen': 3, 'shot-clock': 2, 'count': 1
};

export function endChoices(v: Vocabulary): EndChoice[] {
  const known = new Set(v.words.end);
  const out: EndChoice[] = right.filter((c) => known.has(c.body.end)).map((c) => ({ ...c, label: say(c.body.end) }));
  let spare = 9;
  for (const t of v.words.turnover ?? []) {
    out.push({ signal: `left:${turnoverPlaces[t] ?? spare++}`, label: say(t), hint: 'turnover', body: { end: 'turnover', turnover: t } });
  }
  const more: Omit<EndChoice, 'signal'>[] = [
    { label: say('jump-ball'), hint: 'defence gets it', body: { end: 'jump-ball', next: 'defence' } },
    { label: say('missed-2'), hint: 'out, defence’s', body: { end: 'missed-2', rebound: 'defence', team_rebound: true } },
    { label: say('missed-3'), hint: 'out, defence’s', body: { end: 'missed-3', rebound: 'defence', team_rebound: true } },
    { label: 'heave', hint: 'missed', body: { end: 'missed-3', heave: true } }
  ];
  for (const m of more) if (spare <= 12) out.push({ ...m, signal: `left:${spare++}` });
  return out;
}

// Named is who was named before the end's key.
export interface Named { shooter?: string; winner?: string; spot?: { x: number; y: number } }

// withNames puts the players and the spot where the end has a place for them.
export function withNames(body: Omit<ChanceEnded, 'chance'>, n: Named): Omit<ChanceEnded, 'chance'> {
  const out = { ...body };
  if (n.shooter) {
    if (isShot(body.end) || body.end === 'free-throws') out.shooter = n.shooter;
    else if (body.end === 'turnover') out.lost_by = n.shooter;
  }
  if (n.winner) {
    if (isMiss(body.end) && !body.team_rebound && body.rebound) out.rebound_by = n.winner;
    else if (body.end === 'turnover') {
      out.steal_by = n.winner;
      out.turnover ??= 'steal';
    }
  }
  if (n.spot && isShot(body.end)) out.spot = n.spot;
  return out;
}
