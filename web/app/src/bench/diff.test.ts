import { describe, expect, it } from 'vitest';
import { lines } from './diff';

const shown = (a: string, b: string) => lines(a, b).map((l) => l.sign + l.text).join('|');

describe('the difference of two texts', () => {
  it.each([
    ['a\nb\nc', 'a\nb\nc', ' a| b| c'],
    ['a\nb\nc', 'a\nx\nc', ' a|-b|+x| c'],
    ['a\nc', 'a\nb\nc', ' a|+b| c'],
    ['a\nb', 'b', '-a| b'],
    ['', 'a', '-|+a']
  ])('%j to %j', (a, b, want) => expect(shown(a, b)).toBe(want));
  it('gives both texts back', () => {
    const a = 'name: x\nstop:\n  default: 1\n  post: 2\n';
    const b = 'name: y\nstop:\n  post: 2\n  default: 1\nblame: split\n';
    const d = lines(a, b);
    expect(d.filter((l) => l.sign !== '+').map((l) => l.text).join('\n')).toBe(a);
    expect(d.filter((l) => l.sign !== '-').map((l) => l.text).join('\n')).toBe(b);
  });
});
