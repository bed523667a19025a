// The Pad's state: the chart, the clock, the entry, and what a signal does to
// them. Line-ups, film and corrections have classes of their own.
import type { Book } from './book.svelte';
import { Clock } from './clock.svelte';
import { blank, take as said, type Command, type Entry, type Scene } from './entry';
import { draft, type Draft, type Spot } from './events';
import { FilmRoom } from './filmroom.svelte';
import { Floor } from './floor.svelte';
import { bothEnds, other, owed, revised, type ActionRow, type ChanceRow } from './fold';
import type { Signal } from './keys';
import { Mending } from './mending.svelte';
import * as moves from './moves';
import { chanceGroups, detailGroups, order, toggled, type Group } from './rows';
import { isMiss, periodLength } from './rules';
import { readSettings, writeSettings, type Settings } from './settings';
import { late, now } from './stamp';
import { isFact, lastFact, stepOf, undoing, type Step } from './undo';

export type Panel = '' | 'chance' | 'wrong' | 'settings' | 'findings' | 'more';

export class Pad {
  entry: Entry = $state.raw(blank);
  hint = $state('');
  chosen = $state<string | null>(null); // an earlier chance that entries go to
  taken = $state<boolean[]>([]); // free throws of the trip being taken, in order
  extra = $state<{ chance: string; shots: number } | null>(null); // a trip that the chart does not show yet
  start = $state(''); // who has the ball first
  arrowFlipped = $state(false);
  flipped = $state<string | null>(null); // the inferred offence was wrong: this one
  row = $state<{ about: 'action' | 'chance'; id: string; at: number } | null>(null);
  offer = $state<string | null>(null); // a miss for whose chance a box-out is offered
  asked = $state<string | null>(null); // an ended chance in which the prospect has no action
  panel = $state<Panel>('');
  busy = $state(0); // signals that are not yet worked off
  settings: Settings = $state.raw({ asked: [], prompts: [] });
  readonly clock: Clock;
  readonly floor: Floor;
  readonly room: FilmRoom;
  readonly mend: Mending;
  private steps: Step[] = []; // what was charted on this page
  private turn: Promise<void> = Promise.resolve();

  constructor(readonly book: Book) {
    const say = (drafts: Draft[]) => this.say(drafts);
    this.clock = new Clock((p) => periodLength(book.chart.rules, p));
    this.floor = new Floor(book, say, () => this.now());
    this.room = new FilmRoom(book, this.clock, say);
    this.mend = new Mending(book, say);
    this.settings = readSettings(book.by.game);
    const at = book.chart.when;
    if (at.period) this.clock.enter(at.period, at.clock);
    this.start = book.chart.chances[0]?.offence ?? book.chart.info?.away.id ?? '';
    this.chosen = this.firstUncharted();
    book.news = () => {
      if (this.steps.length === 0 && !this.chosen) this.chosen = this.firstUncharted();
    };
  }

  get chart() { return this.book.chart; }
  get vocabulary() { return this.book.vocabulary; }
  get focus(): string | undefined { return this.chart.scope.focus; }

  arrow = $derived.by(() => {
    const c = this.book.chart;
    const first = c.chances.find((x) => x.origin === 'jump') ?? c.chances[0];
    if (!first) return '';
    const jumps = c.chances.filter((x) => x.end?.end === 'jump-ball').length;
    const periods = Math.max(0, this.clock.period - first.period);
    return (jumps + periods + (this.arrowFlipped ? 1 : 0)) % 2 === 0 ? first.defence : first.offence;
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
  // prospect is the focus of the chart while his team defends.
  prospect = $derived.by(() => (this.focus && this.floor.player(this.focus).team === this.defence ? this.focus : undefined));

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
  edited: ActionRow | undefined = $derived.by(() => (this.entry.editing ? this.action(this.entry.editing) : undefined));

  scene: Scene = $derived.by(() => {
    const floor = this.chart.lineUps[this.defence] ?? [];
    const before = this.chart.chances.findLast((c) => c.defence === this.defence && c.actions.some((a) => a.defender));
    const last = this.lastAction?.defender ?? before?.actions.findLast((a) => a.defender && floor.includes(a.defender))?.defender;
    return {
      vocabulary: this.vocabulary, slots: this.floor.slots, oursDefend: this.defence === this.floor.ours, matchups: this.matchups,
      onFloor: this.chart.lineUps[this.offence] ?? [],
      ...(this.prospect ? { focus: this.prospect } : {}), ...(last ? { lastDefender: last } : {}),
      ...(this.lastAction ? { lastAction: this.lastAction } : {}), ...(this.edited ? { edited: this.edited } : {})
    };
  });

  // groups are the words of the open row.
  groups: Group[] = $derived.by(() => {
    const r = this.row;
    if (!r) return [];
    if (r.about === 'chance') return chanceGroups(this.vocabulary, this.ball.chance ?? { origin: this.ball.next!.origin, tempo: '' }, this.chart.schemes[this.defence]);
    const a = this.action(r.id);
    const attackers = (this.chart.lineUps[this.offence] ?? []).map((id) => this.floor.player(id));
    return a ? detailGroups(this.vocabulary, a, attackers) : [];
  });

  // owing is the chance whose free throws are being taken.
  owing: { chance: ChanceRow; shots: number } | undefined = $derived.by(() => {
    const c = this.book.chart.chances.findLast((x) => x.end && x.end.end !== 'period-end');
    if (!c || this.chosen) return undefined;
    const shots = this.extra?.chance === c.id && c.shots.length === 0 ? this.extra.shots : owed(c);
    return shots > 0 ? { chance: c, shots } : undefined;
  });

  action(id: string): ActionRow | undefined {
    for (const c of this.chart.chances) for (const a of c.actions) if (a.id === id) return a;
    return undefined;
  }

  // signal is the one way in, from keys and from taps. Signals are taken one
  // after the other: a quick hand is ahead of the disk.
  signal(s: Signal): Promise<void> {
    return this.inTurn(() => this.take(s));
  }

  inTurn(work: () => unknown): Promise<void> {
    this.busy++;
    this.turn = this.turn.then(work).then(() => undefined, (err: Error) => void (this.hint = `not charted: ${err.message}`)).finally(() => this.busy--);
    return this.turn;
  }

  private async take(s: Signal): Promise<void> {
    this.hint = '';
    if (await this.floor.key(s)) return;
    if (this.row && (await this.rowKey(s))) return;
    if (this.offer && !/^(cell|bare|inner)/.test(s)) this.declined();
    if (await this.direct(s)) return;
    const step = said(this.entry, s, this.scene);
    this.entry = step.entry;
    if (s === 'end' || s === 'clear') this.mend.waiting = null;
    if (step.command) await this.obey(step.command);
  }

  // direct takes the signals that are no part of an entry.
  private async direct(s: Signal): Promise<boolean> {
    const film = this.room.film;
    switch (s) {
      case 'sub': this.floor.leaving = {}; this.hint = 'who goes out?'; return true;
      case 'clock': if (film) film.toggle(); else this.clock.toggle(); return true;
      case 'run': if (film) await this.room.run(); else this.clock.toggle(); return true;
      case 'step-back': if (film) film.step(-1); else this.clock.nudge(1); return true;
      case 'step-on': if (film) film.step(1); else this.clock.nudge(-1); return true;
      case 'seek-back': if (film) film.seek(film.time() - 5); else this.clock.nudge(10); return true;
      case 'seek-on': if (film) film.seek(film.time() + 5); else this.clock.nudge(-10); return true;
      case 'slower': film?.faster(-1); return true;
      case 'faster': film?.faster(1); return true;
      case 'loop': film?.loop(); return true;
      case 'blind': if (film) this.room.blind = !this.room.blind; return true;
      case 'anchor': await this.room.anchor(); return true;
      case 'flip': await this.flip(); return true;
      case 'pass': await this.pass(); return true;
      case 'shot-made': await this.shot(true); return true;
      case 'shot-missed': await this.shot(false, 'defence'); return true;
      case 'shot-kept': await this.shot(false, 'offence'); return true;
      case 'arrow': this.arrowFlipped = !this.arrowFlipped; return true;
      case 'back': this.back(); return true;
      case 'earlier': this.step(-1); return true;
      case 'later': this.step(1); return true;
      case 'details': this.openRow('action'); return true;
      case 'chance': this.openRow('chance'); return true;
      case 'clear':
        if (this.entry === blank && !this.panel) this.choose(null);
        if (this.entry === blank) this.panel = '';
        return false;
      case 'end':
        if (this.entry.editing) { this.entry = blank; return true; }
        if (!this.ball.chance?.end || this.entry.ending) return false;
        await this.done(this.ball.chance);
        return true;
    }
    return false;
  }

  private async obey(c: Command): Promise<void> {
    switch (c.do) {
      case 'hint': this.hint = c.text; return;
      case 'act': return this.act(c);
      case 'end': return this.end(c.body, c.owed);
      case 'undo': return this.undo();
      case 'drop': case 'amend': case 'name-attacker': {
        const a = this.action(c.action);
        if (!a) return;
        if (c.do === 'drop') await this.say([moves.dropAction(a)]);
        else if (c.do === 'amend') await this.say([moves.amend(a, c.change)]);
        else await this.say([moves.amend(a, { opponent: c.opponent }, 'attacker named')]);
      }
    }
  }

  private async act(c: Extract<Command, { do: 'act' }>): Promise<void> {
    const { do: _, ...a } = c;
    const offered = this.offer ? this.chart.chances.find((x) => x.id === this.offer) : undefined;
    this.offer = null;
    const ball = offered ? { chance: offered } : this.ball;
    const details: Record<string, string[]> = {};
    if (this.room.blind) details.saw_end = ['no'];
    const role = a.opponent ? this.floor.player(a.opponent).role : undefined;
    if (a.defender && a.defender === (this.focus ?? a.defender) && this.settings.prompts.some((p) => p.kind === a.kind && (!p.role || p.role === role))) details.prompted = ['yes'];
    const m = offered ? late(offered, this.room.film) : this.moment();
    const { drafts, id } = moves.act(ball, { ...a, ...(Object.keys(details).length > 0 ? { details } : {}) }, m);
    if (offered?.endRow && offered.end?.focus === 'not-tested') drafts.push(revised(offered.endRow, { ...offered.end, focus: 'acted' }));
    await this.say(drafts);
    this.room.taken();
    const asks = this.settings.asked.filter((x) => x.kind === a.kind).map((x) => x.detail);
    this.row = null;
    if (asks.length > 0) {
      this.row = { about: 'action', id, at: 0 };
      this.row = { about: 'action', id, at: Math.max(0, this.groups.findIndex((g) => asks.includes(g.name))) };
    }
  }

  private async end(body: Parameters<typeof moves.end>[1], shots: number): Promise<void> {
    if (this.mend.waiting) return this.choose((await this.mend.ended(body)) ?? null);
    const ball = this.ball;
    if (ball.chance?.endRow) {
      await this.say(moves.changeEnd(ball.chance, body));
      return;
    }
    const period = this.clock.period;
    const over = body.end === 'period-end';
    if (over && ball.next && this.clock.started && this.clock.now() === 0) return this.clock.enter(period + 1);
    const { prospect } = this;
    const early = this.chosen !== null;
    const ids = await this.say(moves.end(ball, body, prospect, this.moment()));
    const id = ball.chance?.id ?? ids[0]!;
    this.choose(null);
    this.taken = [];
    this.extra = shots > 0 && !early ? { chance: id, shots } : null;
    this.row = null;
    if (prospect) this.open(id, body.end, prospect);
    if (over) this.clock.enter(period + 1);
  }

  // open asks about the prospect only what an end leaves open.
  private open(id: string, end: string, prospect: string): void {
    const c = this.chart.chances.find((x) => x.id === id);
    if (!c) return;
    this.asked = c.end?.focus === 'not-tested' ? id : null;
    const floor = c.lineUps[c.defence];
    if (isMiss(end) && (!floor || floor.includes(prospect)) && !c.actions.some((a) => a.kind === 'box-out' && a.defender === prospect)) {
      this.offer = id;
      this.entry = { ...blank, defender: prospect, kind: 'box-out' };
    }
  }

  private declined(): void {
    this.offer = null;
    this.entry = blank;
  }

  // done leaves a chance that already has its end for the next one.
  private async done(c: ChanceRow): Promise<void> {
    const p = this.focus;
    if (p && c.endRow && this.floor.player(p).team === c.defence && !c.end?.focus) {
      const focus = c.actions.some((a) => a.defender === p) ? 'acted' : 'not-tested';
      await this.say([revised(c.endRow, { ...c.end!, focus })]);
      this.asked = focus === 'not-tested' ? c.id : null;
    }
    this.step(1);
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
    }, this.now())]);
    this.taken = [];
    this.extra = null;
  }

  // moreShots makes the trip one longer: three for a foul on a three.
  moreShots(): void {
    const owing = this.owing;
    if (owing) this.extra = { chance: owing.chance.id, shots: owing.shots % 3 + 1 };
  }

  private async flip(): Promise<void> {
    const b = this.ball;
    if (b.chance) {
      await this.say([revised(b.chance.row, { offence: other(this.chart, b.chance.offence), ...(b.chance.tempo ? { tempo: b.chance.tempo } : {}) })]);
    } else if (this.chart.chances.length === 0) this.start = other(this.chart, this.start);
    else this.flipped = other(this.chart, b.next.offence);
  }

  // pass goes on from a chance that was not seen; right after an end it says that
  // the prospect was not.
  private async pass(): Promise<void> {
    const asked = this.asked ? this.chart.chances.find((c) => c.id === this.asked) : undefined;
    this.asked = null;
    if (asked?.endRow && asked.end) return void (await this.say([revised(asked.endRow, { ...asked.end, focus: 'not-seen' })]));
    const c = this.ball.chance;
    if (c?.endRow && c.end) {
      if (this.focus && this.floor.player(this.focus).team === c.defence && c.actions.length === 0) await this.say([revised(c.endRow, { ...c.end, focus: 'not-seen' })]);
      return this.step(1);
    }
    await this.say(moves.pass(this.chart, this.ball, this.moment()));
  }

  // back takes up the last action, then the one before it.
  private back(): void {
    const list = this.chart.chances.flatMap((c) => c.actions);
    const at = this.entry.editing ? list.findIndex((a) => a.id === this.entry.editing) : list.length;
    const a = list[at - 1];
    if (a) this.entry = { ...blank, editing: a.id };
  }

  edit(id: string): void {
    this.entry = this.entry.editing === id ? blank : { ...blank, editing: id };
    this.row = null;
  }

  spot(spot: Spot): void {
    if (this.edited) void this.inTurn(() => this.say([moves.amend(this.edited!, { spot })]));
    else this.entry = { ...this.entry, spot };
  }

  // chooseOrLeave is for taps: once goes there, twice comes back.
  chooseOrLeave(id: string): void {
    const leaving = this.chosen === id;
    this.choose(leaving ? null : id);
    this.panel = this.chosen ? 'chance' : '';
  }

  // choose makes entries go to an earlier chance, or with null to the one in play.
  choose(id: string | null): void {
    const list = this.chart.chances;
    this.entry = blank;
    this.row = null;
    this.mend.waiting = null;
    const last = list.at(-1);
    this.chosen = id !== null && last?.id === id && !last.end ? null : id;
    const c = list.find((x) => x.id === this.chosen);
    if (c) this.room.go(c);
    if (!c && this.panel === 'chance') this.panel = '';
  }

  // step moves along the chances that this chart has something to say about.
  private step(by: number): void {
    const list = this.chart.chances.filter((c) => this.concerns(c));
    const at = this.chosen ? list.findIndex((c) => c.id === this.chosen) : list.length;
    const to = this.chosen && at < 0 ? list.length : at + by;
    this.choose(to >= 0 && to < list.length ? list[to]!.id : to < 0 ? (list[0]?.id ?? null) : null);
  }

  private concerns(c: ChanceRow): boolean {
    const team = this.chart.scope.team ?? (this.focus ? this.floor.player(this.focus).team : '');
    if (bothEnds(this.chart)) return true;
    const floor = c.lineUps[c.defence];
    return c.defence === team && (!this.focus || !floor || floor.includes(this.focus));
  }

  // firstUncharted is where to go on in a game whose chances are already there.
  private firstUncharted(): string | null {
    const list = this.chart.chances;
    const last = list.findLastIndex((c) => c.actions.length > 0 || c.end?.focus !== undefined);
    const next = list.slice(last + 1).find((c) => c.end && this.concerns(c) && c.row.when.from === 'outline');
    return next?.id ?? null;
  }

  openRow(about: 'action' | 'chance'): void {
    const id = about === 'action' ? this.lastAction?.id : '';
    if (id === undefined) this.hint = 'no action in this chance yet';
    else this.row = { about, id, at: 0 };
  }

  private async rowKey(s: Signal): Promise<boolean> {
    const r = this.row!;
    if (s === 'details' || (s === 'chance' && r.about === 'chance')) {
      this.row = r.at + 1 < this.groups.length ? { ...r, at: r.at + 1 } : null;
      return true;
    }
    if (s === 'clear' || s === 'undo') {
      this.row = null;
      return true;
    }
    const free = this.entry === blank;
    const choice = free && order.includes(s) ? this.groups[r.at]?.choices.find((c) => c.signal === s) : undefined;
    if (choice) await this.pick(this.groups[r.at]!, choice.word);
    else if (!free || !order.includes(s)) this.row = null;
    return choice !== undefined;
  }

  // pick says one word of the open row.
  async pick(g: Group, word: string): Promise<void> {
    const r = this.row;
    if (!r) return;
    if (r.about === 'action') {
      const a = this.action(r.id);
      if (a) await this.say([moves.amend(a, { details: toggled(a, g, word) }, 'detail')]);
    } else if (g.name === 'origin' || g.name === 'tempo') await this.sayOfChance({ [g.name]: word });
    else {
      const scheme = { ...this.chart.schemes[this.defence], team: this.defence, [g.name]: word };
      await this.say([draft('scheme-set', scheme, this.now())]);
    }
    if (!g.many && this.row) this.row = r.at + 1 < this.groups.length ? { ...r, at: r.at + 1 } : null;
  }

  private async sayOfChance(change: { origin?: string; tempo?: string }): Promise<void> {
    const c = this.ball.chance;
    if (!c) return void (await this.say(moves.begun(this.ball, this.moment(), change).drafts));
    const body = { offence: c.offence, ...(c.origin ? { origin: c.origin } : {}), ...(c.tempo ? { tempo: c.tempo } : {}), ...change };
    await this.say([revised(c.row, body)]);
  }

  // undo takes back the last step charted here; after a reload, the last fact
  // that this charter charted.
  private async undo(): Promise<void> {
    const step = this.steps.pop() ?? lastFact(this.chart, this.book.by.charter);
    if (!step) this.hint = 'nothing to take back';
    else await this.book.say(undoing(this.chart, step));
    this.choose(null);
    this.taken = [];
    this.extra = null;
    this.offer = null;
    this.asked = null;
  }

  // say charts a step.
  async say(drafts: Draft[]): Promise<string[]> {
    if (drafts.length === 0) return [];
    const before = stepOf(this.chart, drafts);
    const ids = await this.book.say(drafts);
    this.steps.push({ ...before, facts: ids.filter((_, i) => isFact(drafts[i]!.type)) });
    this.flipped = null;
    return ids;
  }

  now(): moves.Moment {
    return now(this.chart, this.book.by.pad, this.clock, this.room.film);
  }

  // moment is when the next thing said of the chance at hand stands.
  moment(): moves.Moment {
    return this.chosen && this.ball.chance ? late(this.ball.chance, this.room.film) : this.now();
  }

  tick(): void {
    this.clock.tick();
    this.room.tick(this.ball.chance);
  }

  set(s: Settings): void {
    this.settings = s;
    writeSettings(this.book.by.game, s);
  }
}
