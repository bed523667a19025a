// Settling: the disagreements in the order of how far they move the numbers, the
// choices made so far, and what they move together.
import type { Change, Disagreement, Move, Settling } from './api';
import { effectOf, getSettling } from './api';
import { most, moved, size } from './words';

export interface Case { move: Move; d: Disagreement; most: Change | undefined; others: Change[] }

// casesOf joins what the server says of each disagreement, in its order.
export function casesOf(s: Settling): Case[] {
  const byID = new Map((s.disagreements ?? []).map((d) => [d.id, d]));
  return s.moves.flatMap((move) => {
    const d = byID.get(move.id);
    const changes = move.changes.filter(moved).sort((a, b) => size(b) - size(a));
    return d ? [{ move, d, most: most(move.changes), others: changes.slice(1) }] : [];
  });
}

export class Settle {
  told: Settling | null = $state.raw(null);
  trouble = $state('');
  loading = $state(false);
  player = $state('');
  at = $state(0);
  choices: Record<string, string> = $state({});
  effect: Change[] | null = $state.raw(null);
  weighing = $state(false);
  private asked = 0;
  private soon: ReturnType<typeof setTimeout> | undefined;

  constructor(readonly game: string) {}

  cases = $derived.by(() => (this.told ? casesOf(this.told) : []));
  current = $derived.by(() => this.cases[this.at]);
  chosen = $derived.by(() => Object.keys(this.choices).length);
  // people are the defenders that some version of a disagreement names.
  people = $derived.by(() => [...new Set(this.cases.flatMap((c) => c.d.versions.flatMap((v) => (v.defender ? [v.defender] : []))))].sort());

  // load asks anew; choices stay where the disagreement is still there.
  async load(charts: string[], base: string): Promise<void> {
    const turn = ++this.asked;
    this.loading = true;
    this.trouble = '';
    try {
      const told = await getSettling(this.game, charts, base, this.player);
      if (turn !== this.asked) return;
      const there = this.current?.d.id;
      const same = this.told?.base === told.base;
      this.told = told;
      const ids = new Set(told.moves.map((m) => m.id));
      this.choices = same ? Object.fromEntries(Object.entries(this.choices).filter(([id]) => ids.has(id))) : {};
      this.at = Math.max(0, this.cases.findIndex((c) => c.d.id === there));
      this.weigh(charts, base);
    } catch (err) {
      if (turn === this.asked) {
        this.trouble = (err as Error).message;
        this.told = null;
      }
    } finally {
      if (turn === this.asked) this.loading = false;
    }
  }

  choose(id: string, chart: string | null, charts: string[], base: string): void {
    if (chart === null || this.choices[id] === chart) delete this.choices[id];
    else this.choices[id] = chart;
    this.weigh(charts, base);
  }

  step(by: number): void {
    this.at = Math.min(this.cases.length - 1, Math.max(0, this.at + by));
  }

  // next goes to the next one nobody decided.
  next(): void {
    const n = this.cases.length;
    for (let i = 1; i <= n; i++) {
      const k = (this.at + i) % n;
      if (!this.choices[this.cases[k]!.d.id]) return void (this.at = k);
    }
  }

  private weigh(charts: string[], base: string): void {
    clearTimeout(this.soon);
    if (this.chosen === 0) {
      this.effect = null;
      this.weighing = false;
      return;
    }
    this.weighing = true;
    const turn = this.asked;
    this.soon = setTimeout(async () => {
      const choices = { ...this.choices };
      try {
        const changes = await effectOf(this.game, { charts, base, player: this.player, choices });
        if (turn === this.asked && JSON.stringify(choices) === JSON.stringify(this.choices)) {
          this.effect = changes;
          this.weighing = false;
        }
      } catch (err) {
        this.trouble = (err as Error).message;
        this.weighing = false;
      }
    }, 250);
  }
}
