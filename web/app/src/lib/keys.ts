// Keys by their place on the board, not by their letter (KeyboardEvent.code), so
// that a whole hand finds them under any national layout.
//
// The left hand holds the kinds, the right hand a grid of outcomes whose three
// columns are held, even and broken with the commonest on the home row; the
// digits hold the ten on the floor. While a chance is being ended the same
// places hold the ends: the column says again what it cost.
import type { Column } from './vocabulary';

export type Signal =
  | `player:${number}` // 1 to 10
  | `left:${number}` // 1 to 12, row by row
  | `cell:${Column}:${number}` // 1 home row, 2 above, 3 below
  | `inner:${number}` // 1 to 3: the column between the hands
  | `bare:${Column}`
  | 'nobody' | 'end' | 'undo' | 'clear' | 'details' | 'chance' | 'flip' | 'pass' | 'clock' | 'sub' | 'back'
  | 'shot-made' | 'shot-missed' | 'shot-kept' | 'arrow' | 'anchor' | 'blind' | 'loop'
  | 'step-back' | 'step-on' | 'seek-back' | 'seek-on' | 'slower' | 'faster' | 'earlier' | 'later' | 'run';

const leftKeys = ['KeyQ', 'KeyW', 'KeyE', 'KeyR', 'KeyA', 'KeyS', 'KeyD', 'KeyF', 'KeyZ', 'KeyX', 'KeyC', 'KeyV'];

export const defaultKeys: Record<string, Signal> = {
  ...Object.fromEntries([1, 2, 3, 4, 5, 6, 7, 8, 9, 10].map((n) => [`Digit${n % 10}`, `player:${n}`])),
  ...Object.fromEntries(leftKeys.map((code, i) => [code, `left:${i + 1}`])),
  KeyJ: 'cell:held:1', KeyU: 'cell:held:2', KeyM: 'cell:held:3',
  KeyK: 'cell:even:1', KeyI: 'cell:even:2', Comma: 'cell:even:3',
  KeyL: 'cell:broken:1', KeyO: 'cell:broken:2', Period: 'cell:broken:3',
  KeyY: 'inner:1', KeyH: 'inner:2', KeyN: 'inner:3',
  'Shift+KeyJ': 'bare:held', 'Shift+KeyK': 'bare:even', 'Shift+KeyL': 'bare:broken',
  Backquote: 'nobody', Enter: 'end', NumpadEnter: 'end', Backspace: 'undo', Escape: 'clear',
  Semicolon: 'details', KeyP: 'chance', Slash: 'flip', KeyG: 'pass', KeyT: 'sub', KeyB: 'back', Space: 'clock',
  BracketRight: 'shot-made', BracketLeft: 'shot-missed', Backslash: 'shot-kept',
  'Shift+Enter': 'run', Minus: 'arrow', Equal: 'anchor', Quote: 'blind', 'Shift+Space': 'loop',
  ArrowLeft: 'step-back', ArrowRight: 'step-on', ArrowDown: 'seek-back', ArrowUp: 'seek-on',
  'Shift+ArrowLeft': 'slower', 'Shift+ArrowRight': 'faster', PageUp: 'earlier', PageDown: 'later'
} as Record<string, Signal>;

// chord is how a key event is named in the map; null for what is the browser's.
export function chord(e: Pick<KeyboardEvent, 'code' | 'shiftKey' | 'ctrlKey' | 'altKey' | 'metaKey'>): string | null {
  if (e.ctrlKey || e.altKey || e.metaKey) return null;
  return e.shiftKey ? `Shift+${e.code}` : e.code;
}

const memory = 'stopledger-keys';

// KeyMap is the map in force: the defaults with this machine's changes.
export class KeyMap {
  private changes: Record<string, Signal>;

  constructor(private storage: Pick<Storage, 'getItem' | 'setItem'> = localStorage) {
    try {
      this.changes = JSON.parse(storage.getItem(memory) ?? '{}') as Record<string, Signal>;
    } catch {
      this.changes = {};
    }
  }

  signal(key: string): Signal | undefined {
    if (key in this.changes) return this.changes[key];
    const s = defaultKeys[key];
    return s && Object.values(this.changes).includes(s) ? undefined : s;
  }

  keyOf(signal: Signal): string | undefined {
    const changed = Object.entries(this.changes).find(([, s]) => s === signal)?.[0];
    if (changed) return changed;
    return Object.entries(defaultKeys).find(([key, s]) => s === signal && !(key in this.changes))?.[0];
  }

  // put gives a signal another key; what lay there moves to the key it leaves.
  put(signal: Signal, key: string): void {
    const old = this.keyOf(signal);
    const displaced = this.signal(key);
    const next = Object.fromEntries(Object.entries(this.changes).filter(([, s]) => s !== signal && s !== displaced));
    next[key] = signal;
    if (displaced && old && displaced !== signal) next[old] = displaced;
    this.changes = Object.fromEntries(Object.entries(next).filter(([k, s]) => defaultKeys[k] !== s)) as Record<string, Signal>;
    this.storage.setItem(memory, JSON.stringify(this.changes));
  }

  reset(): void {
    this.changes = {};
    this.storage.setItem(memory, '{}');
  }
}

const marks: Record<string, string> = {
  Comma: ',', Period: '.', Slash: '/', Semicolon: ';', Quote: "'", BracketLeft: '[', BracketRight: ']', Backslash: '\\',
  Minus: '-', Equal: '=', Backquote: '`', Space: 'space', Enter: 'enter', Backspace: '⌫', Escape: 'esc',
  ArrowLeft: '←', ArrowRight: '→', ArrowUp: '↑', ArrowDown: '↓', PageUp: 'pg↑', PageDown: 'pg↓'
};

// cap is what is printed on a key; layout, where the browser tells it, knows
// the national letters.
export function cap(key: string | undefined, layout?: Map<string, string>): string {
  if (!key) return '';
  const [shift, code] = key.startsWith('Shift+') ? ['⇧', key.slice(6)] : ['', key];
  const letter = layout?.get(code) ?? marks[code] ?? code.replace(/^(Key|Digit)/, '');
  return shift + letter.toUpperCase().replace('SPACE', 'space').replace('ENTER', 'enter').replace('ESC', 'esc').replace('PG', 'pg');
}

// The order in which kinds lie under the left hand: screens above, ball and shot
// on the home row, help and running back below; under the index finger the man
// with the ball. A judgement of ours. Kinds that are not named here fill what is
// left.
const places = [
  'chase', 'coverage', 'ball-screen', 'deny',
  'box-out', 'closeout', 'contest', 'drive',
  'transition', 'rotation', 'gap-help', 'post'
];

// leftHand lays the vocabulary's kinds on the left hand's places.
export function leftHand(kinds: string[]): (string | undefined)[] {
  const out = places.map((k) => (kinds.includes(k) ? k : undefined));
  for (const k of kinds.filter((k) => !places.includes(k))) {
    const free = out.indexOf(undefined);
    if (free >= 0) out[free] = k;
    else out.push(k);
  }
  return out;
}
