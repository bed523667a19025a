import { describe, expect, it } from 'vitest';
import { clock, ended, filmTime, likely, score, sentence, signed } from './say';
import type { Row } from './types';

describe('numbers for people', () => {
  it.each([[0, '0.0'], [-0.04, '0.0'], [1.25, '+1.3'], [-2, '−2.0']])('%d points are %s', (x, want) => expect(signed(x)).toBe(want));
  it.each([[0.995, 'over 99 %'], [0.004, 'under 1 %'], [0.5, '50 %']])('nothing is certain: %d is %s', (p, want) => expect(likely(p)).toBe(want));
  it.each([[412.3, '6:52'], [59.9, '0:59'], [0, '0:00']])('%d seconds on the clock read %s', (s, want) => expect(clock(s)).toBe(want));
  it('tells film time in hours', () => expect(filmTime(4271.2)).toBe('1:11:11'));
  it.each([['a. ', 'A.'], ['', ''], ['x', 'X.']])('a sentence ends once: %j', (t, want) => expect(sentence(t)).toBe(want));
  it.each([[undefined, 'score not charted'], [0, 'level'], [-4, 'defence down 4'], [2, 'defence up 2']])('margin %s', (margin, want) => expect(score({ margin } as Row)).toBe(want));
  it.each([
    [{ end: 'made-3', points: 3 }, 'made 3, 3 points'],
    [{ end: 'missed-2', points: 0, ball: 'offence' }, 'missed 2, the offence keeps the ball'],
    [{ end: 'turnover', turnover: 'bad-pass', points: 0, ball: 'defence' }, 'turnover (bad pass), the defence has the ball'],
    [{ points: 0 }, 'no end charted']
  ])('%j', (r, want) => expect(ended(r as Row)).toBe(want));
});
