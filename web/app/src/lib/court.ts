// The half court: what a spot on it can be worth, and the lines as SVG paths.
import type { CourtInfo, Shape } from './api';
import type { Spot } from './events';

export type Worth = '2' | '3' | '2 or 3';

// worth says what a field goal from a spot can be; the same rule as the
// server's, within whose tolerance of the line a spot says nothing.
export function worth(c: CourtInfo, s: Spot): Worth {
  const past = pastLine(c, s);
  return past > c.tolerance ? '3' : past < -c.tolerance ? '2' : '2 or 3';
}

function pastLine(c: CourtInfo, s: Spot): number {
  const x = Math.abs(s.x);
  const straight = Math.hypot(x - c.three_corner, Math.max(0, s.y - c.bend));
  const arc = s.y < c.bend && c.three_corner < c.three_arc ? straight : Math.abs(Math.hypot(x, s.y) - c.three_arc);
  const gap = Math.min(straight, arc);
  return x <= c.three_corner && (s.y <= c.bend || Math.hypot(x, s.y) <= c.three_arc) ? -gap : gap;
}

// path draws one line of the court.
export function path(s: Shape): string {
  const p = (x: number, y: number) => `${x.toFixed(3)} ${y.toFixed(3)}`;
  switch (s.kind) {
    case 'segment': return `M${p(s.x, s.y)}L${p(s.x2, s.y2)}`;
    case 'rect': return `M${p(s.x, s.y)}H${s.x2.toFixed(3)}V${s.y2.toFixed(3)}H${s.x.toFixed(3)}Z`;
    case 'circle': return `M${p(s.x - s.r, s.y)}a${s.r} ${s.r} 0 1 0 ${2 * s.r} 0a${s.r} ${s.r} 0 1 0 ${-2 * s.r} 0`;
    case 'arc': {
      const end = (a: number) => p(s.x + s.r * Math.cos(a), s.y + s.r * Math.sin(a));
      return `M${end(s.a)}A${s.r} ${s.r} 0 ${s.b - s.a > Math.PI ? 1 : 0} 1 ${end(s.b)}`;
    }
  }
}
