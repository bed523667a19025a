// Answers the benchmark's questions with DuckDB, in memory, on as many threads
// as it is told. The first argument is a CSV of integer codes, one line an
// action. Each line of standard input is a query; each line of standard output
// is what it gave: {"ms": time it took, "rows": [[...], ...]}.
import { createInterface } from 'node:readline'
import { DuckDBInstance } from '@duckdb/node-api'

const [file, threads] = process.argv.slice(2)
const db = await DuckDBInstance.create(':memory:', { threads })
const link = await db.connect()
await link.run(`create table actions as select
  chance::UINTEGER as chance, game::USMALLINT as game, defender::USMALLINT as defender, kind::UTINYINT as kind, role::UTINYINT as role,
  reading::UTINYINT as reading, "first"::UTINYINT::BOOLEAN as "first", "last"::UTINYINT::BOOLEAN as "last", tempo::UTINYINT as tempo,
  ball::UTINYINT as ball, points::UTINYINT as points, period::UTINYINT as period, margin::TINYINT as margin, heave::UTINYINT::BOOLEAN as "heave"
  from read_csv('${file}', header = true)`)
console.log(JSON.stringify({ ready: true }))
for await (const query of createInterface({ input: process.stdin })) {
  const began = performance.now()
  const result = await link.runAndReadAll(query)
  const ms = performance.now() - began
  console.log(JSON.stringify({ ms, rows: result.getRows().map((row) => row.map(Number)) }))
}
