// Package bench measures package definition against a Go loop written for one
// question and against DuckDB, on the same rows, in one run, with the same
// totals. It holds benchmarks only:
//
//	npm ci
//	go test -bench . -benchtime 9x
//
// Without the node packages the Go ways are measured alone, and it is said.
package bench
