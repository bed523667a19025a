// Rosters as a coach has them: lines of number, role and code, from a
// spreadsheet or typed.
import { token, type Player } from './events';

export interface RosterReading { players: Player[]; troubles: string[] }

const roles: Record<string, string> = { g: 'guard', w: 'wing', f: 'wing', b: 'big', c: 'big' };

// readRoster reads CSV (comma, semicolon or tab) whose header, if there is one,
// names number, role and id in any order; without it the order is number, role.
// Names are not taken over: the log holds codes only.
export function readRoster(text: string, team: string, known: string[]): RosterReading {
  const lines = text.split(/\r?\n/).map((l) => l.trim()).filter(Boolean);
  const cells = lines.map((l) => l.split(/[,;\t]/).map((c) => c.trim().replace(/^"(.*)"$/, '$1')));
  const head = (cells[0] ?? []).map((c) => c.toLowerCase());
  const named = head.includes('number');
  const at = (name: string, other: number) => (named ? head.indexOf(name) : other);
  const [number, role, id] = [at('number', 0), at('role', 1), at('id', -1)];
  const players: Player[] = [];
  const troubles: string[] = [];
  for (const [i, row] of cells.entries()) {
    if (i === 0 && named) continue;
    const shirt = row[number] ?? '';
    if (!/^\d{1,2}$/.test(shirt)) {
      troubles.push(`line ${i + 1}: “${shirt}” is no shirt number`);
      continue;
    }
    if (players.some((p) => p.number === shirt)) {
      troubles.push(`line ${i + 1}: number ${shirt} stands twice`);
      continue;
    }
    const word = (row[role] ?? '').toLowerCase();
    const r = known.includes(word) ? word : roles[word];
    if (word && !r) troubles.push(`line ${i + 1}: “${word}” is no role; want ${known.join(', ')}`);
    players.push({ id: (id >= 0 && token(row[id] ?? '')) || `${team}-${shirt}`, team, number: shirt, ...(r ? { role: r } : {}) });
  }
  return { players, troubles };
}

// writeRoster is the inverse, for a field that shows what is known.
export function writeRoster(players: Player[]): string {
  const lines = players.map((p) => [p.number ?? '', p.role ?? '', p.id].join(','));
  return ['number,role,id', ...lines].join('\n');
}
