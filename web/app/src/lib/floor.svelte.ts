// Who is on the floor: fives in the order of their keys, benches, substitutions,
// and numbers that are seen for the first time.
import type { Book } from './book.svelte';
import { draft, type Draft, type Player } from './events';
import { other } from './fold';
import type { Signal } from './keys';
import type { Moment } from './moves';

export class Floor {
  coming = $state<string | null>(null); // a bench player who is to come in
  leaving = $state<{ out?: string } | null>(null); // a substitution by keys
  adding = $state(''); // the team a new number is typed for

  constructor(private book: Book, private say: (drafts: Draft[]) => Promise<string[]>, private at: () => Moment) {}

  // ours is the team under the keys 1 to 5: the one whose defence is charted,
  // else the home team.
  ours = $derived.by(() => {
    const c = this.book.chart;
    return c.scope.team ?? c.players.get(c.scope.focus ?? '')?.team ?? c.info?.home.id ?? '';
  });
  theirs = $derived.by(() => other(this.book.chart, this.ours));
  slots = $derived.by(() => [...this.five(this.ours), ...this.five(this.theirs)]);

  // five is a team's floor by shirt number.
  private five(team: string): (string | undefined)[] {
    const list = (this.book.chart.lineUps[team] ?? []).map((id) => this.player(id)).sort(byShirt);
    return Array.from({ length: 5 }, (_, i) => list[i]?.id);
  }

  bench(team: string): Player[] {
    const floor = new Set(this.book.chart.lineUps[team] ?? []);
    return [...this.book.chart.players.values()].filter((p) => p.team === team && !floor.has(p.id)).sort(byShirt);
  }

  player(id: string): Player {
    return this.book.chart.players.get(id) ?? { id, team: '' };
  }

  number(id: string | undefined): string {
    return id === '' ? 'nobody' : id === undefined ? '' : (this.player(id).number ?? id);
  }

  team(id: string): string {
    const info = this.book.chart.info;
    return (id === info?.home.id ? info.home.name : id === info?.away.id ? info.away.name : '') || id;
  }

  tapBench(id: string): Promise<void> | void {
    const out = this.leaving?.out;
    if (out && this.player(out).team === this.player(id).team) return this.bring(id, out);
    this.coming = this.coming === id ? null : id;
  }

  // waits reports whether somebody of this team is to come in.
  waits(team: string): boolean {
    return this.coming !== null && this.player(this.coming).team === team;
  }

  // bring puts one in for another, or into a free place.
  async bring(into: string, out?: string): Promise<void> {
    const team = this.player(into).team;
    this.coming = null;
    this.leaving = null;
    const five = this.book.chart.lineUps[team] ?? [];
    if (five.length === 0) await this.say([draft('lineup-set', { team, players: [into] }, this.at())]);
    else await this.say([draft('substituted', { team, in: into, ...(out ? { out } : {}) }, this.at())]);
  }

  // seen puts a number on the floor that is new, or came without being noticed.
  async seen(team: string, number: string): Promise<void> {
    const known = [...this.book.chart.players.values()].find((p) => p.team === team && p.number === number);
    const id = known?.id ?? `${team}-${number}`;
    const drafts: Draft[] = known ? [] : [this.book.reopen({ players: [{ id, team, number }] })];
    const five = this.book.chart.lineUps[team] ?? [];
    if (!five.includes(id) && five.length < 5) drafts.push(draft('lineup-set', { team, players: [...five, id] }, this.at()));
    await this.say(drafts);
    if (five.length >= 4) this.adding = '';
  }

  // key goes on with a substitution by keys: who goes out, then who comes in. It
  // reports whether the signal was meant for it.
  async key(s: Signal): Promise<boolean> {
    if (!this.leaving) return false;
    const [what, n] = s.split(':');
    const on = this.slots[Number(n) - 1];
    if (what === 'player' && on) this.leaving = { out: on };
    else if (what === 'left' && this.leaving.out) {
      const p = this.bench(this.player(this.leaving.out).team)[Number(n) - 1];
      if (p) await this.bring(p.id, this.leaving.out);
    } else {
      this.leaving = null;
      return s === 'sub' || s === 'clear';
    }
    return true;
  }
}

const shirt = (p: Player): number => (p.number === '00' ? -1 : Number(p.number ?? 100));
const byShirt = (a: Player, b: Player): number => shirt(a) - shirt(b) || (a.id < b.id ? -1 : 1);
