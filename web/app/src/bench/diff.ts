// The difference of two texts by lines: the longest common subsequence, which is
// quick enough for definitions.
export interface DiffLine { sign: ' ' | '+' | '-'; text: string }

export function lines(a: string, b: string): DiffLine[] {
  const x = a.split('\n');
  const y = b.split('\n');
  const common = Array.from({ length: x.length + 1 }, () => new Uint32Array(y.length + 1));
  for (let i = x.length - 1; i >= 0; i--) {
    for (let j = y.length - 1; j >= 0; j--) {
      common[i]![j] = x[i] === y[j] ? common[i + 1]![j + 1]! + 1 : Math.max(common[i + 1]![j]!, common[i]![j + 1]!);
    }
  }
  const out: DiffLine[] = [];
  let i = 0;
  let j = 0;
  while (i < x.length || j < y.length) {
    if (i < x.length && j < y.length && x[i] === y[j]) { out.push({ sign: ' ', text: x[i]! }); i++; j++; }
    else if (j >= y.length || (i < x.length && common[i + 1]![j]! >= common[i]![j + 1]!)) out.push({ sign: '-', text: x[i++]! });
    else out.push({ sign: '+', text: y[j++]! });
  }
  return out;
}
