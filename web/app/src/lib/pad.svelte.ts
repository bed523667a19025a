// The Pad's state: the chart, the clock, the entry, and what a signal does to
// them.
import { Book } from './book.svelte';
import { Clock } from './clock.svelte';
import { blank, take as said, type Command, type Entry, type Scene } from './entry';
import { draft, type Draft, type Player, type When } from './events';
import { other, owed, revised, voiding, type ActionRow, type ChanceRow } from './fold';
import type { Signal } from './keys';
import * as moves from './moves';
import { periodLength } from './rules';

export class Pad {
  entry: Entry = $state.raw(blank);
  hint = $state('');
  chosen = $state<string | null>(null); // an earlier chance that entries go to
  taken = $state<boolean[]>([]); // free throws of the trip being taken, in order
  extra = $state<{ chance: string; shots: number } | null>(null); // a trip that the chart does not show yet
  clock: Clock;
  start = $state(''); // who has the ball first
  arrowFlipped = $state(false);
  flipped = $state<string | null>(null); // the inferred offence was wrong: this one
  subIn = $state<string | null>(null); // a bench player who is to come in
  sub = $state<{ out?: string } | null>(null); // a substitution by keys
  addingTo = $state(''); // the team a new number is typed for
  private mine: string[][] = []; // ids of what was charted here, a step each
  private lastStamp: { period: number; clock: number } | null = null;
  private lastID = '';
  private turn: Promise<void> = Promise.resolve();

  constructor(readonly book: Book) {
    this.clock = new Clock((p) => periodLength(book.chart.rules, p));
    const at = book.chart.when;
    if (at.period) this.clock.enter(at.period, at.clock);
    this.start = book.chart.chances[0]?.offence ?? book.chart.info?.away.id ?? '';
  }

  get chart() { return this.book.chart; }
  get vocabulary() { return this.book.vocabulary; }
  get focus(): string | undefined { return this.chart.scope.focus; }

  // ours is the team under the keys 1 to 5: the one whose defence is charted,
  // else the home team.
  ours = $derived.by(() => {
    const c = this.book.chart;
    return c.scope.team ?? c.players.get(c.scope.focus ?? '')?.team ?? c.info?.home.id ?? '';
  });
  theirs = $derived.by(() => other(this.book.chart, this.ours));

  arrow = $derived.by(() => {
    const c = this.book.chart;
    const first = c.chances.find((x) => x.origin === 'jump') ?? c.chances[0];
    if (!first) return '';
    const jumps = c.chances.filter((x) => x.end?.end === 'jump-ball').length;
    const periods = new Set(c.chances.map((x) => x.period)).size - 1;
    const flips = jumps + periods + (this.arrowFlipped ? 1 : 0);
    return flips % 2 === 0 ? first.defence : first.offence;
  });

  ball: moves.Ball = $derived.by(() => {
    const c = this.book.chart;
    const chosen = this.chosen ? c.chances.find((x) => x.id === this.chosen) : undefined;
    if (chosen) return { chance: chosen };
    const ball = moves.ballNow(c, this.clock.period, this.start, this.arrow);
    if (ball.next && this.flipped) return { next: { ...ball.next, offence: this.flipped, origin: '' } };
    return ball;
  });
  offence = $derived.by(() => moves.offenceOf(this.ball));
  defence = $derived.by(() => other(this.book.chart, this.offence));
  slots = $derived.by(() => [...this.five(this.ours), ...this.five(this.theirs)]);

  matchups = $derived.by(() => {
    const out: Record<string, string> = {};
    for (const c of this.book.chart.chances) {
      for (const a of c.actions) {
        const by = a.details?.came_by?.[0];
        if (a.defender && a.opponent && by !== 'switch' && by !== 'double' && by !== 'rotation') out[a.defender] = a.opponent;
      }
    }
    return out;
  });

  lastAction: ActionRow | undefined = $derived.by(() => this.ball.chance?.actions.at(-1));
  edited: ActionRow | undefined = $derived.by(() => this.entry.editing ? this.action(this.entry.editing) : undefined);
  // owing is the chance whose free throws are being taken.
  owing: { chance: ChanceRow; shots: number } | undefined = $derived.by(() => {
    const c = this.book.chart.chances.findLast((x) => x.end && x.end.end !== 'period-end');
    if (!c) return undefined;
    const shots = this.extra?.chance === c.id && c.shots.length === 0 ? this.extra.shots : owed(c);
    return shots > 0 ? { chance: c, shots } : undefined;
  });

  // five is a team's floor in the order of its keys: by shirt number.
  private five(team: string): (string | undefined)[] {
    const list = (this.book.chart.lineUps[team] ?? []).map((id) => this.player(id));
    list.sort((a, b) => shirt(a) - shirt(b) || (a.id < b.id ? -1 : 1));
    return Array.from({ length: 5 }, (_, i) => list[i]?.id);
  }

  bench(team: string): Player[] {
    const floor = new Set(this.chart.lineUps[team] ?? []);
    return [...this.chart.players.values()].filter((p) => p.team === team && !floor.has(p.id)).sort((a, b) => shirt(a) - shirt(b));
  }

  player(id: string): Player {
    return this.chart.players.get(id) ?? { id, team: '' };
  }

  number(id: string | undefined): string {
    if (id === undefined) return '';
    if (id === '') return 'nobody';
    return this.player(id).number ?? id;
  }

  action(id: string): ActionRow | undefined {
    for (const c of this.chart.chances) for (const a of c.actions) if (a.id === id) return a;
    return undefined;
  }

  private scene(): Scene {
    const lastBy = this.ball.chance?.actions.at(-1)?.defender;
    const floor = this.chart.lineUps[this.defence] ?? [];
    const earlier = this.chart.chances.findLast((c) => c.defence === this.defence && c.actions.some((a) => a.defender))?.actions.findLast((a) => a.defender)?.defender;
    const last = lastBy ?? (earlier && floor.includes(earlier) ? earlier : undefined);
    const focus = this.focus && this.player(this.focus).team === this.defence ? this.focus : undefined;
    return {
      vocabulary: this.vocabulary, slots: this.slots, oursDefend: this.defence === this.ours, matchups: this.matchups,
      onFloor: this.chart.lineUps[this.offence] ?? [],
      ...(focus ? { focus } : {}), ...(last ? { lastDefender: last } : {}),
      ...(this.lastAction ? { lastAction: this.lastAction } : {}), ...(this.edited ? { edited: this.edited } : {})
    };
  }

  // signal is the one way in, from keys and from taps. Signals are taken one
  // after the other: a quick hand is ahead of the disk.
  signal(s: Signal): Promise<void> {
    return this.inTurn(() => this.take(s));
  }

  inTurn(work: () => Promise<void> | void): Promise<void> {
    this.turn = this.turn.then(work).catch((err: Error) => void (this.hint = `not charted: ${err.message}`));
    return this.turn;
  }

  private async take(s: Signal): Promise<void> {
    this.hint = '';
    if (this.subKey(s)) return;
    switch (s) {
      case 'sub': this.sub = {}; this.hint = 'who goes out?'; return;
      case 'clock': return this.clock.toggle();
      case 'step-back': return this.clock.nudge(1);
      case 'step-on': return this.clock.nudge(-1);
      case 'seek-back': return this.clock.nudge(10);
      case 'seek-on': return this.clock.nudge(-10);
      case 'flip': return this.flip();
      case 'pass': return this.pass();
      case 'shot-made': return this.shot(true);
      case 'shot-missed': return this.shot(false, 'defence');
      case 'shot-kept': return this.shot(false, 'offence');
      case 'arrow': this.arrowFlipped = !this.arrowFlipped; return;
      case 'back': return this.back();
      case 'earlier': return this.choose(-1);
      case 'later': return this.choose(1);
    }
    if (s === 'end' && this.ball.chance?.end && !this.entry.editing) return this.choose(1);
    if (s === 'end' && this.entry.editing) { this.entry = blank; return; }
    const step = said(this.entry, s, this.scene());
    this.entry = step.entry;
    if (s === 'clear') this.chosen = null;
    if (step.command) await this.obey(step.command);
  }

  private async obey(c: Command): Promise<void> {
    switch (c.do) {
      case 'hint': this.hint = c.text; return;
      case 'act': {
        const { do: _, ...a } = c;
        if (a.defender === '') delete a.defender;
        await this.say(moves.act(this.ball, a, this.moment()).drafts);
        return;
      }
      case 'end': return this.end(c.body, c.owed);
      case 'name-attacker': {
        const a = this.action(c.action);
        if (a) await this.say([moves.amend(a, { opponent: c.opponent }, 'attacker named')]);
        return;
      }
      case 'amend': {
        const a = this.action(c.action);
        if (a) await this.say([moves.amend(a, c.change)]);
        return;
      }
      case 'drop': {
        const a = this.action(c.action);
        if (a) await this.say([moves.dropAction(a)]);
        return;
      }
      case 'undo': return this.undo();
    }
  }

  private async end(body: Parameters<typeof moves.end>[1], shots: number): Promise<void> {
    const ball = this.ball;
    if (ball.chance?.endRow) {
      await this.say([revised(ball.chance.endRow, { ...body, chance: ball.chance.id, ...(ball.chance.end?.focus ? { focus: ball.chance.end.focus } : {}) })]);
      return;
    }
    const period = this.clock.period;
    const over = body.end === 'period-end';
    if (over && ball.next && this.clock.shown === 0) return this.clock.enter(period + 1);
    const focus = this.focus && this.player(this.focus).team === this.defence ? this.focus : undefined;
    const ids = await this.say(moves.end(ball, body, focus, this.moment()));
    this.chosen = null;
    this.taken = [];
    this.extra = shots > 0 ? { chance: ball.chance?.id ?? ids[0]!, shots } : null;
    if (over) this.clock.enter(period + 1);
  }

  // shot takes down one free throw; the trip is charted with its last.
  private async shot(made: boolean, ball?: 'offence' | 'defence'): Promise<void> {
    const owing = this.owing;
    if (!owing) return;
    this.taken = [...this.taken, made];
    if (this.taken.length < owing.shots) return;
    const shooter = owing.chance.end?.shooter;
    await this.say([draft('shots-taken', {
      chance: owing.chance.id, made: this.taken.filter(Boolean).length, attempted: this.taken.length,
      last: made ? 'made' : (ball ?? 'defence'), ...(shooter ? { shooter } : {})
    }, { when: this.moment().when })]);
    this.taken = [];
    this.extra = null;
  }

  private async flip(): Promise<void> {
    const b = this.ball;
    if (b.chance) {
      const body = { offence: other(this.chart, b.chance.offence), ...(b.chance.tempo ? { tempo: b.chance.tempo } : {}) };
      await this.say([revised(b.chance.row, body)]);
    } else if (this.chart.chances.length === 0) this.start = other(this.chart, this.start);
    else this.flipped = other(this.chart, b.next.offence);
  }

  private async pass(): Promise<void> {
    if (this.ball.chance?.end) return this.choose(1);
    await this.say(moves.pass(this.chart, this.ball, this.moment()));
  }

  // back takes up the last action, then the one before it.
  private back(): void {
    const list = this.chart.chances.flatMap((c) => c.actions);
    const at = this.entry.editing ? list.findIndex((a) => a.id === this.entry.editing) : list.length;
    const a = list[at - 1];
    if (a) this.entry = { ...blank, editing: a.id };
  }

  // choose moves along the chart's chances; beyond the last is the one in play.
  choose(by: number): void {
    const list = this.chart.chances;
    const open = !list.at(-1)?.end ? list.length - 1 : list.length;
    const at = this.chosen ? list.findIndex((c) => c.id === this.chosen) : open;
    const to = at + by;
    this.entry = blank;
    this.chosen = to >= 0 && to < open ? list[to]!.id : null;
  }

  edit(id: string): void {
    this.entry = this.entry.editing === id ? blank : { ...blank, editing: id };
  }

  toggleChosen(id: string): void {
    this.entry = blank;
    this.chosen = this.chosen === id || this.chart.chances.at(-1)?.id === id ? null : id;
  }

  tapBench(id: string): void {
    const out = this.sub?.out;
    if (out && this.player(out).team === this.player(id).team) void this.substitute(id, out);
    else this.subIn = this.subIn === id ? null : id;
  }

  substitute(into: string, out?: string): Promise<void> {
    return this.inTurn(() => this.bring(into, out));
  }

  // bring puts one in for another, or into a free place.
  private async bring(into: string, out?: string): Promise<void> {
    const team = this.player(into).team;
    this.subIn = null;
    this.sub = null;
    const five = this.chart.lineUps[team] ?? [];
    if (five.length === 0) await this.say([draft('lineup-set', { team, players: [into] }, { when: this.moment().when })]);
    else await this.say([draft('substituted', { team, in: into, ...(out ? { out } : {}) }, { when: this.moment().when })]);
  }

  // seen puts a number on the floor that is new, or came without being noticed.
  seen(team: string, number: string): Promise<void> {
    return this.inTurn(() => this.putOn(team, number));
  }

  private async putOn(team: string, number: string): Promise<void> {
    const known = [...this.chart.players.values()].find((p) => p.team === team && p.number === number);
    const id = known?.id ?? `${team}-${number}`;
    const drafts: Draft[] = known ? [] : [this.book.reopen({ players: [{ id, team, number }] })];
    const five = this.chart.lineUps[team] ?? [];
    if (!five.includes(id) && five.length < 5) drafts.push(draft('lineup-set', { team, players: [...five, id] }, { when: this.moment().when }));
    await this.say(drafts);
  }

  // subKey goes on with a substitution by keys: who goes out, then who comes in.
  private subKey(s: Signal): boolean {
    const sub = this.sub;
    if (!sub) return false;
    const [what, n] = s.split(':');
    if (what === 'player' && this.slots[Number(n) - 1]) this.sub = { out: this.slots[Number(n) - 1]! };
    else if (what === 'left' && sub.out) {
      const p = this.bench(this.player(sub.out).team)[Number(n) - 1];
      if (p) void this.bring(p.id, sub.out);
    } else {
      this.sub = null;
      return s === 'sub' || s === 'clear';
    }
    return true;
  }

  // undo voids the last step charted on this page.
  private async undo(): Promise<void> {
    const step = this.mine.pop();
    if (!step) {
      this.hint = 'nothing charted on this page to take back; choose it in the strip';
      return;
    }
    const rows = step.map((id) => this.chart.rows.get(id)).filter((r) => r !== undefined && !r.voided);
    await this.book.say(rows.map((r) => voiding(r!)));
    this.chosen = null;
    this.taken = [];
    this.extra = null;
  }

  // say charts a step. What corrects is no step to undo by itself.
  async say(drafts: Draft[]): Promise<string[]> {
    if (drafts.length === 0) return [];
    const ids = await this.book.say(drafts);
    const facts = ids.filter((_, i) => !['amended', 'voided', 'reassigned'].includes(drafts[i]!.type));
    if (facts.length > 0) this.mine.push(facts);
    this.lastID = ids.at(-1)!;
    this.flipped = null;
    return ids;
  }

  // moment stamps what is charted now. A clock that was set back up would put it
  // before what was charted already, so then it is tied to that.
  moment(): moves.Moment {
    if (this.chosen && this.ball.chance) return this.late(this.ball.chance);
    const when: When = { period: this.clock.period };
    if (!this.clock.started) return { when };
    when.clock = this.clock.now();
    when.from = this.clock.running ? 'ticked' : 'typed';
    const last = this.lastStamp;
    const back = last && last.period === when.period && when.clock > last.clock && this.lastID;
    if (back) return { when, after: this.lastID };
    this.lastStamp = { period: when.period!, clock: when.clock };
    return { when };
  }

  // late is the moment of something added to an earlier chance: right behind
  // what it already holds.
  private late(c: ChanceRow): moves.Moment {
    const behind = c.actions.at(-1)?.row ?? c.row;
    return { when: { period: behind.period, ...(behind.clock !== undefined ? { clock: behind.clock } : {}), from: 'inferred' }, after: behind.event.id };
  }
}

export const shirt = (p: Player): number => (p.number === '00' ? -1 : Number(p.number ?? 100));
