package bench

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"runtime"
	"strconv"
	"strings"

	"stopledger/replay"
)

type columns = *replay.Columns

// duck is a DuckDB with the rows in its memory.
type duck struct {
	command *exec.Cmd
	in      io.WriteCloser
	out     *bufio.Reader
}

func newDuck(path string) (*duck, error) {
	d := &duck{command: exec.Command("node", "duck.mjs", path, strconv.Itoa(runtime.GOMAXPROCS(0)))}
	d.command.Stderr = os.Stderr
	var err error
	if d.in, err = d.command.StdinPipe(); err != nil {
		return nil, err
	}
	out, err := d.command.StdoutPipe()
	if err != nil {
		return nil, err
	}
	d.out = bufio.NewReaderSize(out, 1<<20)
	if err := d.command.Start(); err != nil {
		return nil, err
	}
	_, err = d.out.ReadString('\n') // ready
	return d, err
}

func (d *duck) stop() {
	_ = d.in.Close()
	_ = d.command.Wait()
}

// ask gives the time that DuckDB took, in milliseconds, and its rows.
func (d *duck) ask(q question, lead int) (float64, [][]float64) {
	fmt.Fprintln(d.in, strings.Join(strings.Fields(query(q, lead)), " "))
	line, err := d.out.ReadBytes('\n')
	if err != nil {
		panic(fmt.Sprintf("duckdb ended: %v", err))
	}
	var answer struct {
		MS   float64     `json:"ms"`
		Rows [][]float64 `json:"rows"`
	}
	if err := json.Unmarshal(line, &answer); err != nil {
		panic(err)
	}
	return answer.MS, answer.Rows
}

// query is the question in SQL. Codes are the columns': tempo 1 is break, ball
// 2 the defence, kind 8 contest, reading 1 held.
func query(q question, lead int) string {
	keep := fmt.Sprintf("tempo <> 1 and not heave and (period < 4 or abs(margin) <= %d)", lead)
	const stop = "(case when kind = 8 then points = 0 or reading = 1 else points <= 1 and ball = 2 end)::UTINYINT"
	if !q.whole {
		return fmt.Sprintf(`select defender, kind, role, count(*), 0, sum(%s), sum(case when "last" then points else 0 end), 0, 0
			from actions where %s group by defender, kind, role`, stop, keep)
	}
	return fmt.Sprintf(`with kept as (select *, %s as stop, case when "first" then 2 when "last" then 1 else 0 end as weight from actions where %s),
		settled as (select *, 1.0::DOUBLE / count(*) over (partition by chance, defender) as trial, sum(weight) over (partition by chance) as weights from kept)
		select defender, kind, role, count(*), count(distinct game), sum(stop),
			sum(case when weights > 0 then points::DOUBLE * weight / weights else 0 end), sum(trial), sum(stop * trial)
		from settled group by defender, kind, role`, stop, keep)
}

func checkDuck(cols columns, rows [][]float64, whole bool) check {
	id, kind, role := cols.Players.Column("player.id"), cols.Actions.Column("action.kind"), cols.Players.Column("player.role")
	var c check
	for _, r := range rows {
		c.add(row{
			id.Words[id.Code(int(r[0]))], kind.Words[int(r[1])], role.Words[int(r[2])],
			int(r[3]), int(r[4]), int(r[5]), r[6], r[7], r[8],
		}, whole)
	}
	return c
}
