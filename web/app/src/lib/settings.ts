// What a charter sets for a game on this machine: at most two details the Pad
// asks for, and what to watch.
export interface Asked { kind: string; detail: string }
export interface Prompt { kind: string; role?: string }
export interface Settings { asked: Asked[]; prompts: Prompt[] }

export const mostAsked = 2;

const key = (game: string): string => `stopledger-settings/${game}`;

export function readSettings(game: string, search = location.search): Settings {
  let s: Settings = { asked: [], prompts: [] };
  try {
    s = { ...s, ...(JSON.parse(localStorage.getItem(key(game)) ?? '{}') as Partial<Settings>) };
  } catch {
    // what cannot be read is as if it had not been set
  }
  const watch = new URLSearchParams(search).get('watch');
  if (watch) s.prompts = readPrompts(watch);
  return s;
}

export function writeSettings(game: string, s: Settings): void {
  localStorage.setItem(key(game), JSON.stringify(s));
}

// readPrompts reads a film plan's wish list as a link carries it:
// closeout:guard,chase.
export function readPrompts(text: string): Prompt[] {
  return text.split(',').filter(Boolean).map((p) => {
    const [kind, role] = p.split(':');
    return { kind: kind!.trim(), ...(role ? { role: role.trim() } : {}) };
  });
}
