"""Long-run posteriors of the pooled model by JAGS, from Debian's package jags.

Usage: python3 run.py NAME DIR [ITERATIONS [THIN]]   reads NAME.csv and pooled.bug beside
this script, works in DIR, and writes NAME_posterior.csv beside this script. Four
chains; means, standard deviations, the standard error of the mean by batches
and the largest potential scale reduction. Needs numpy.
"""
import csv, os, subprocess, sys
import numpy as np

name, work = sys.argv[1], sys.argv[2]
keep = int(sys.argv[3]) if len(sys.argv) > 3 else 20000
thin = int(sys.argv[4]) if len(sys.argv) > 4 else 1
here = os.path.dirname(os.path.abspath(__file__))
rows = [[float(x) for x in r] for r in list(csv.reader(open(os.path.join(here, name + '.csv'))))[1:]]
rows.sort(key=lambda r: (r[0], r[2], r[3], r[4]))
group, own, item, opposing, condition, y, n = (np.array(c) for c in zip(*rows))
keys = [tuple(int(v) for v in (r[0], r[2], r[3])) for r in rows]
first, last, names = [], [], []
for i, k in enumerate(keys):
    if i == 0 or keys[i - 1] != k:
        first.append(i + 1); last.append(i + 1); names.append(k)
    else:
        last[-1] = i + 1
w = np.zeros(len(rows))
for a, b in zip(first, last):
    w[a - 1:b] = n[a - 1:b] / n[a - 1:b].sum()

def dump(f, k, v):
    v = np.atleast_1d(v)
    f.write('"%s" <- c(%s)\n' % (k, ','.join(repr(float(x)) if float(x) != int(x) else str(int(x)) for x in v)))

os.makedirs(work, exist_ok=True)
with open(os.path.join(work, 'data.R'), 'w') as f:
    for k, v in dict(K=item.max() + 1, O=own.max() + 1, R=opposing.max() + 1, S=condition.max() + 1, D=group.max() + 1, C=len(rows), J=len(names)).items():
        dump(f, k, v)
    for k, v in dict(group=group + 1, own=own + 1, item=item + 1, opposing=opposing + 1, condition=condition + 1, y=y, n=n, w=w, first=first, last=last).items():
        dump(f, k, v)
with open(os.path.join(work, 'run.cmd'), 'w') as f:
    f.write('load glm\nmodel in "%s"\ndata in "data.R"\ncompile, nchains(4)\n' % os.path.join(here, 'pooled.bug'))
    for c in range(4):
        with open(os.path.join(work, 'init%d.R' % c), 'w') as g:
            g.write('".RNG.name" <- "base::Mersenne-Twister"\n".RNG.seed" <- %d\n' % (7 + c))
        f.write('parameters in "init%d.R", chain(%d)\n' % (c, c + 1))
    f.write('initialize\nupdate %d\n' % (keep // 5))
    for m in ('seen', 'scale', 'mix'):
        f.write('monitor %s, thin(%d)\n' % (m, thin))
    f.write('update %d\ncoda *\n' % keep)
subprocess.run(['jags', 'run.cmd'], cwd=work, check=True, stdout=subprocess.DEVNULL)
index = [l.split() for l in open(os.path.join(work, 'CODAindex.txt'))]
chains = [np.loadtxt(os.path.join(work, 'CODAchain%d.txt' % c))[:, 1] for c in range(1, 5)]
with open(os.path.join(here, name + '_posterior.csv'), 'w') as f:
    f.write('what,group,item,opposing,mean,sd,mcse,rhat\n')
    for label, a, b in index:
        x = np.array([c[int(a) - 1:int(b)] for c in chains])
        batches = x.reshape(4 * 25, -1).mean(axis=1)
        within, between = x.var(axis=1, ddof=1).mean(), x.mean(axis=1).var(ddof=1)
        rhat = np.sqrt((within * (1 - 1 / x.shape[1]) + between) / within)
        what, at = label.rstrip(']').split('[')
        k = names[int(at) - 1] if what == 'seen' else (int(at) - 1, '', '')
        f.write('%s,%s,%s,%s,%.6f,%.6f,%.6f,%.4f\n' % ((what,) + tuple(k) + (x.mean(), x.std(ddof=1), batches.std(ddof=1) / 10, rhat)))
