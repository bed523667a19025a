// Intervals by Observable Plot, loaded when the first one is drawn. Colours are
// the page's own, so that light, dark and print each have theirs.
import type { Pooled } from './types';

let library: Promise<typeof import('@observablehq/plot')> | undefined;

export interface Line { label?: string; his: Pooled; field?: Pooled | null }

// intervals draws each line as his mean with its 80 % interval, a bar with a
// disc, above the field's, a thin line with a diamond: told apart by shape first.
export async function intervals(lines: Line[], o: { width: number; axis: boolean }): Promise<Element> {
  library ??= import('@observablehq/plot');
  const Plot = await library;
  const rows = lines.map((l, i) => ({ ...l, i }));
  const fields = rows.filter((r) => r.field);
  const y = (d: { i: number }) => d.i;
  const svg = Plot.plot({
    width: o.width,
    height: 22 * lines.length + (o.axis ? 20 : 4),
    marginTop: o.axis ? 18 : 2, marginBottom: 2, marginLeft: 8, marginRight: 8,
    x: { domain: [0, 1], axis: null },
    y: { domain: [-0.5, lines.length - 0.5], axis: null, reverse: true },
    marks: [
      Plot.gridX([0, 0.25, 0.5, 0.75, 1], { stroke: 'var(--line)', strokeOpacity: 1 }),
      ...(o.axis ? [Plot.axisX([0, 0.25, 0.5, 0.75, 1], { anchor: 'top', tickSize: 0, tickFormat: (d: number) => `${100 * d}`, fill: 'var(--soft)', label: null })] : []),
      Plot.link(fields, { x1: (d) => d.field!.q10, x2: (d) => d.field!.q90, y1: (d) => d.i + 0.24, y2: (d) => d.i + 0.24, stroke: 'var(--soft)', strokeWidth: 1.5 }),
      Plot.dot(fields, { x: (d) => d.field!.mean, y: (d) => d.i + 0.24, symbol: 'diamond', r: 4, stroke: 'var(--soft)', fill: 'var(--panel)', strokeWidth: 1.5 }),
      Plot.link(rows, { x1: (d) => d.his.q10, x2: (d) => d.his.q90, y1: (d) => y(d) - 0.14, y2: (d) => y(d) - 0.14, stroke: 'var(--ink)', strokeWidth: 4 }),
      Plot.dot(rows, { x: (d) => d.his.mean, y: (d) => y(d) - 0.14, r: 4.5, fill: 'var(--ink)', stroke: 'var(--panel)' })
    ]
  });
  // The page's policy allows no style of a drawing's own; it needs none.
  for (const style of svg.querySelectorAll('style')) style.remove();
  svg.removeAttribute('style');
  // What it says stands in words on the element around it.
  svg.setAttribute('aria-hidden', 'true');
  for (const part of svg.querySelectorAll('[aria-label], [aria-description]')) {
    part.removeAttribute('aria-label');
    part.removeAttribute('aria-description');
  }
  return svg;
}
