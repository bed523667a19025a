// What a rule set says to a chart: period lengths, what an end is worth, who
// has the ball next.
import type { ChanceEnded, Rules, ShotsTaken } from './events';
import type { RuleSet, Vocabulary } from './vocabulary';

export function ruleSet(v: Vocabulary, rules: Rules | undefined): RuleSet {
  if (typeof rules === 'object') return { name: '', ...rules };
  return v.rules.find((r) => r.name === rules) ?? v.rules[0]!;
}

export const periodLength = (r: RuleSet, period: number): number =>
  60 * (period > r.periods ? r.overtime_minutes : r.minutes);

export function periodName(r: RuleSet, period: number): string {
  if (period > r.periods) return period === r.periods + 1 ? 'OT' : `OT${period - r.periods}`;
  return `${r.periods === 2 ? 'H' : 'Q'}${period}`;
}

export function points(end: string, freeThrows: number): number {
  return freeThrows + (end === 'made-2' ? 2 : end === 'made-3' ? 3 : 0);
}

export const isShot = (end: string): boolean => /^(made|missed)-[23]$/.test(end);
export const isMiss = (end: string): boolean => end.startsWith('missed');
export const isMade = (end: string): boolean => end.startsWith('made');
export const isThree = (end: string): boolean => end.endsWith('-3');

export interface Next { offence: string; origin: string }

// nextBall says who has the ball after an end and how he came by it; shots are
// free throws that came later. Unknown is told apart by no origin.
export function nextBall(offence: string, defence: string, e: ChanceEnded, shots?: ShotsTaken): Next {
  const mine = (origin: string): Next => ({ offence, origin });
  const theirs = (origin: string): Next => ({ offence: defence, origin });
  if (shots) {
    if (shots.last === 'offence') return mine('offensive-rebound');
    return theirs(shots.last === 'defence' ? 'defensive-rebound' : 'make');
  }
  switch (e.end) {
    case 'missed-2':
    case 'missed-3':
      if (e.rebound === 'offence') return mine(e.team_rebound ? 'baseline' : 'offensive-rebound');
      return theirs(e.team_rebound ? 'dead-ball' : 'defensive-rebound');
    case 'free-throws':
      if (e.rebound === 'offence') return mine('offensive-rebound');
      return theirs(e.rebound === 'defence' ? 'defensive-rebound' : 'make');
    case 'turnover':
      return theirs(e.turnover === 'steal' || e.steal_by ? 'steal' : 'dead-ball');
    case 'jump-ball':
      return e.next === 'offence' ? mine('sideline') : theirs('sideline');
    case 'period-end':
      return theirs('');
  }
  return theirs('make');
}
