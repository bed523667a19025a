// The game clock as the charter runs it. Time comes from a source that can be
// the machine's clock or a film's: with a film, seeking back takes the game
// clock back with it.

export type Source = () => number; // seconds

const machine: Source = () => performance.now() / 1000;

export class Clock {
  period = $state(1);
  running = $state(false);
  started = $state(false); // it has been set or run: before that events carry no clock
  shown = $state(0); // seconds left, as of the last tick
  length = $state(600);
  private left = 600; // at mark
  private mark = 0;
  private source: Source = machine;

  constructor(private lengthOf: (period: number) => number) {
    this.length = lengthOf(1);
    this.set(this.length);
    this.started = false;
  }

  // now is the seconds left, to the tenth.
  now(): number {
    const gone = this.running ? this.source() - this.mark : 0;
    return Math.round(Math.min(this.length, Math.max(0, this.left - gone)) * 10) / 10;
  }

  set(left: number): void {
    this.left = Math.min(this.length, Math.max(0, left));
    this.mark = this.source();
    this.started = true;
    this.tick();
  }

  toggle(): void {
    if (this.running) this.stop();
    else this.start();
  }

  start(): void {
    this.left = this.now();
    this.mark = this.source();
    this.running = true;
    this.started = true;
  }

  stop(): void {
    this.left = this.now();
    this.running = false;
    this.tick();
  }

  nudge(seconds: number): void {
    this.set(this.now() + seconds);
  }

  // enter goes to a period, at its start unless told where.
  enter(period: number, left?: number): void {
    this.running = false;
    this.period = period;
    this.length = this.lengthOf(period);
    const known = this.started;
    this.set(left ?? this.length);
    this.started = known || left !== undefined;
  }

  follow(source: Source | null): void {
    this.left = this.now();
    this.source = source ?? machine;
    this.mark = this.source();
  }

  tick(): void {
    this.shown = this.now();
    if (this.running && this.shown === 0) this.stop();
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
