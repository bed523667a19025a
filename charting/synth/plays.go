package synth

// play runs a chance from how it begins to how it ends. Each step may end it.
func (t *try) play() {
	if t.c.tempo == "break" {
		t.fastBreak()
	} else if t.f.origin == "offensive-rebound" && t.d.odds(0.45) {
		t.shoot(t.putBack(), rim)
	} else {
		t.begin()
	}
	if !t.over {
		t.carry()
	}
}

// handler chooses who works: guards most.
func (t *try) handler() int {
	w := make([]float64, 5)
	for i, p := range t.off.five {
		w[i] = []float64{1, 0.72, 0.5}[p.role]
	}
	return t.d.pick(w...)
}

func (t *try) putBack() int {
	w := make([]float64, 5)
	for i, p := range t.off.five {
		w[i] = []float64{0.3, 0.7, 1.4}[p.role]
	}
	return t.d.pick(w...)
}

// other is a man of the offence besides i, likelier of one role.
func (t *try) other(i, role int) int {
	w := make([]float64, 5)
	for j, p := range t.off.five {
		switch {
		case j == i:
		case p.role == role:
			w[j] = 6
		default:
			w[j] = 1
		}
	}
	return t.d.pick(w...)
}

// begin is the first action of a chance in the half court.
func (t *try) begin() {
	if t.d.odds(0.065) {
		t.giveAway()
		return
	}
	i := t.handler()
	if t.f.clock < 35 && t.def.teamFouls < 3 && t.d.odds(0.15) {
		t.foul(drive, t.on[i], i, "to-give")
	}
	w := [3][6]float64{ // ball screen, drive, chase, deny, post, swing
		guard: {0.50, 0.26, 0.10, 0.06, 0.00, 0.08},
		wing:  {0.22, 0.30, 0.24, 0.12, 0.03, 0.09},
		big:   {0.20, 0.14, 0.04, 0.16, 0.42, 0.04},
	}[t.off.five[i].role]
	if t.c.scheme.zone() {
		w[0], w[2], w[3], w[5] = w[0]*0.4, w[2]*0.3, w[3]*0.4, w[5]+0.30
	}
	switch t.d.pick(w[:]...) {
	case 0:
		t.pick(i)
	case 1:
		t.driveAt(i)
	case 2:
		t.offScreen(i)
	case 3:
		t.cut(i)
	case 4:
		t.postUp(i)
	case 5:
		t.swing(i)
	}
}

// fastBreak asks one defender to stop it, then finishes or pulls out.
func (t *try) fastBreak() {
	i := t.handler()
	if t.d.odds(0.05) && t.def.teamFouls < 4 {
		t.foul(transition, t.on[i], i, "stop-break")
		t.driveAt(i)
		return
	}
	a := t.test(transition, i)
	if t.over {
		return
	}
	switch {
	case a.reading == broken || t.d.odds(0.3):
		t.shoot(i, t.breakShot())
	case t.d.odds(0.4):
		t.kick(i, nil)
	default:
		t.driveAt(i)
	}
}

func (t *try) breakShot() shot {
	if t.d.odds(0.78) {
		return rim
	}
	return three
}

// pick is a ball screen: the handler's man, and the screener's with his
// coverage.
func (t *try) pick(i int) {
	j := t.other(i, big)
	if t.off.five[i].role == big {
		j = t.other(i, guard)
		i, j = j, i
	}
	switched := t.c.scheme.principle == "switch-all" && t.d.odds(0.85) || t.d.odds(0.08)
	if switched && t.d.odds(0.04) {
		t.nobodys(ballScreen, i, "missed-switch")
		t.shoot(i, pullUp(t))
		return
	}
	call := t.coverageCall(switched)
	a := t.screen(ballScreen, i, switched)
	if t.over {
		return
	}
	second := held
	if t.d.odds(0.5) {
		b := t.cover(j, i, call)
		if t.over {
			return
		}
		second = b.reading
	}
	if switched && !(a.outcome == "missed-switch") {
		t.swap(i, j)
		if t.d.odds(0.62) { // the guard attacks the man switched onto him
			t.driveAt(i)
			return
		}
	}
	switch {
	case second == broken && t.d.odds(0.5):
		t.shoot(j, rollShot(t, j))
	case a.reading == broken && t.d.odds(0.4):
		t.shoot(i, pullUp(t))
	case t.d.odds(0.3):
		t.helpAgainst(i)
	}
}

func rollShot(t *try, j int) shot {
	if *t.off.five[j].person.Shooter && t.d.odds(0.5) {
		return three
	}
	return rim
}

func pullUp(t *try) shot {
	return []shot{three, middle, rim}[t.d.pick(0.38, 0.34, 0.28)]
}

// driveAt is a dribbler against his man, then the help he draws.
func (t *try) driveAt(i int) {
	if !t.room(2) {
		t.shoot(i, pullUp(t))
		return
	}
	a := t.test(drive, i)
	if t.over {
		return
	}
	switch {
	case a.outcome == "killed-dribble":
		t.edge -= 0.1
	case a.reading == broken && t.d.odds(0.75), a.reading == even && t.d.odds(0.5):
		t.helpAgainst(i)
	case a.reading == held && t.d.odds(0.35):
		t.kick(i, nil)
	case t.d.odds(0.5):
		t.shoot(i, []shot{rim, middle, three}[t.d.pick(0.5, 0.3, 0.2)])
	}
}

// offScreen is a man chased round screens away from the ball.
func (t *try) offScreen(i int) {
	a := t.screen(chase, i, t.c.scheme.principle == "switch-all" && t.d.odds(0.7))
	if t.over {
		return
	}
	if a.reading == broken || t.d.odds(0.4) {
		t.shoot(i, []shot{three, middle, rim}[t.d.pick(0.6, 0.22, 0.18)])
	} else if t.d.odds(0.4) {
		t.driveAt(i)
	}
}

func (t *try) cut(i int) {
	a := t.test(deny, i)
	if t.over {
		return
	}
	if a.reading == broken {
		if t.d.odds(0.5) {
			t.rotate(i)
		}
		t.shoot(i, rim)
	} else if a.reading == even && t.d.odds(0.5) {
		t.driveAt(i)
	}
}

func (t *try) postUp(i int) {
	a := t.test(post, i)
	switch {
	case t.over:
	case a.outcome == "denied-entry":
		t.driveAt(t.other(i, guard))
	case a.reading != held && t.d.odds(0.35):
		t.helpAgainst(i)
	case t.d.odds(0.8):
		t.shoot(i, hook)
	}
}

// swing moves the ball: help one pass away, or a closeout.
func (t *try) swing(i int) {
	if t.d.odds(0.5) {
		t.dig(i)
		if t.over {
			return
		}
	}
	t.kick(i, nil)
}

// helpAgainst is what a man with an advantage draws: a rotation from the weak
// side, help one pass away, or nobody.
func (t *try) helpAgainst(i int) {
	if !t.room(2) {
		t.shoot(i, rim)
		return
	}
	var helped *ask
	switch t.d.pick(0.42, 0.33, 0.25) {
	case 0:
		helped = t.rotate(i)
	case 1:
		helped = t.dig(i)
	default:
		if t.d.odds(0.1) {
			t.nobodys(gapHelp, i, "no-help")
		}
	}
	if t.over {
		return
	}
	if helped != nil && t.d.odds(0.5) {
		t.kick(i, helped)
		return
	}
	t.shoot(i, []shot{rim, middle}[t.d.pick(0.82, 0.18)])
}

// kick throws the ball to a shooter, whose man has to close out. After help it
// is the helper's own man.
func (t *try) kick(i int, helped *ask) {
	j := t.other(i, wing)
	if helped != nil {
		for k, p := range t.on {
			if p == helped.defender && k != i {
				j = k
			}
		}
	}
	if !t.room(1) {
		t.shoot(j, three)
		return
	}
	a := t.close(j, helped != nil)
	switch then := a.details.First("then"); {
	case t.over:
	case a.outcome == "blown-by" || then == "drive":
		if t.d.odds(0.3) && t.room(2) {
			t.rotate(j)
		}
		if !t.over {
			t.shoot(j, []shot{rim, middle}[t.d.pick(0.65, 0.35)])
		}
	case then == "pass":
		t.shoot(t.other(j, guard), pullUp(t))
	default:
		t.shoot(j, three)
	}
}

// carry goes on where nothing has come of the chance yet.
func (t *try) carry() {
	if t.d.odds(0.045) {
		t.giveAway()
		return
	}
	i := t.handler()
	if t.room(3) && t.d.odds(0.25) {
		t.driveAt(i)
	} else if t.room(2) && t.d.odds(0.3) {
		t.kick(i, nil)
	}
	if !t.over {
		t.shoot(i, []shot{three, middle, rim, hook}[t.d.pick(0.42, 0.22, 0.3, 0.06)])
	}
}
