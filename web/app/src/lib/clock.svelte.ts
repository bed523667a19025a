// The game clock as the charter runs it. Time comes from the machine or from a
// film. The clock is a list of marks on that time, each with what it showed and
// whether it ran from there, so that going back on a film takes the game clock
// back with it, also across stops.

export type Source = () => number; // seconds

export interface ClockMark { at: number; period: number; left: number; running: boolean }

const machine: Source = () => performance.now() / 1000;

export class Clock {
  period = $state(1);
  running = $state(false);
  started = $state(false); // it has been set or run: before that events carry no clock
  shown = $state(0); // seconds left, as of the last tick
  private marks: ClockMark[] = [];
  private source: Source = machine;
  private filmed = false;

  constructor(private lengthOf: (period: number) => number) {
    this.mark({ period: 1, left: lengthOf(1), running: false });
  }

  private here(): ClockMark {
    const t = this.source();
    return this.marks.findLast((m) => m.at <= t + 1e-6) ?? this.marks[0]!;
  }

  private leftAt(m: ClockMark): number {
    const gone = m.running ? Math.max(0, this.source() - m.at) : 0;
    return Math.round(Math.min(this.lengthOf(m.period), Math.max(0, m.left - gone)) * 10) / 10;
  }

  // now is the seconds left, to the tenth.
  now(): number {
    return this.leftAt(this.here());
  }

  private mark(m: Omit<ClockMark, 'at'>): void {
    const at = this.source();
    const kept = this.filmed ? this.marks.filter((x) => Math.abs(x.at - at) > 0.05) : [];
    this.marks = [...kept, { ...m, at }].sort((a, b) => a.at - b.at);
    this.tick();
  }

  set(left: number): void {
    const { period, running } = this.here();
    this.started = true;
    this.mark({ period, running, left: Math.min(this.lengthOf(period), Math.max(0, left)) });
  }

  toggle(): void {
    if (this.running) this.stop();
    else this.start();
  }

  start(): void {
    this.started = true;
    this.mark({ period: this.here().period, left: this.now(), running: true });
  }

  stop(): void {
    this.mark({ period: this.here().period, left: this.now(), running: false });
  }

  nudge(seconds: number): void {
    this.set(this.now() + seconds);
  }

  // enter goes to a period, at its start unless told where.
  enter(period: number, left?: number): void {
    this.started ||= left !== undefined;
    this.mark({ period, left: left ?? this.lengthOf(period), running: false });
  }

  // follow takes time from a film, with the marks its anchors give, or with null
  // from the machine again.
  follow(source: Source | null, marks: ClockMark[] = []): void {
    const { period } = this.here();
    const left = this.now();
    this.source = source ?? machine;
    this.filmed = source !== null;
    this.marks = marks.length > 0 ? marks : [{ at: this.filmed ? 0 : this.source(), period, left, running: false }];
    this.started ||= marks.length > 0;
    this.tick();
  }

  tick(): void {
    const m = this.here();
    this.shown = this.leftAt(m);
    this.period = m.period;
    this.running = m.running && this.shown > 0;
  }
}

// face is a clock's reading: minutes and seconds, tenths in the last minute.
export function face(seconds: number): string {
  if (seconds < 60) return seconds.toFixed(1);
  const whole = Math.ceil(seconds);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
}

// readFace reads what somebody typed: 7:32, 732, 45 or 12.3; null for neither.
export function readFace(text: string): number | null {
  const t = text.trim();
  const colon = /^(\d{1,2}):([0-5]\d(?:\.\d)?)$/.exec(t);
  if (colon) return Number(colon[1]) * 60 + Number(colon[2]);
  if (/^\d{3,4}$/.test(t)) return Math.floor(Number(t) / 100) * 60 + (Number(t) % 100);
  if (/^\d{1,2}(\.\d)?$/.test(t)) return Number(t);
  return null;
}
