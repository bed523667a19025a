package definition

// act is one action of a chance while the chance is being settled.
type act struct {
	*verdict
	row      uint32
	defender uint32
	kind     uint32
	points   float64
	share    float64 // of the chance's cost, 0 to 1
	trial    float64 // the weight of the trial it stands for; 0: another action does, or none
}

// settleShares divides the weights of a chance by their sums, one sum for each
// cost. Where one weight is undecided nobody's share is known, and the cost
// stays with the team.
func settleShares(acts []act) {
	for i := range acts {
		if acts[i].in != Yes || acts[i].weight == 0 {
			continue
		}
		sum, known := 0.0, true
		for k := range acts {
			if acts[k].in == Yes && acts[k].pool == acts[i].pool {
				sum += acts[k].weight
				known = known && acts[k].weighed == Yes
			}
		}
		if known {
			acts[i].share = acts[i].weight / sum
		}
	}
}

// settleTrials finds the action that stands for each trial and the trial's
// weight: one over the number of its defender's trials in the chance.
func settleTrials(acts []act) {
	for i := range acts {
		if acts[i].in == Yes && acts[i].stands(acts, i) {
			acts[i].trial = 1
		}
	}
	for i := range acts {
		if acts[i].trial == 0 {
			continue
		}
		trials := 0
		for k := range acts {
			if acts[k].trial > 0 && acts[k].defender == acts[i].defender {
				trials++
			}
		}
		acts[i].trial = 1 / float64(trials)
	}
}

// stands reports whether no other action of the same trial reads worse, or as
// badly and earlier.
func (a *act) stands(acts []act, at int) bool {
	for k := range acts {
		b := &acts[k]
		if k == at || b.in != Yes || b.defender != a.defender || b.kind != a.kind {
			continue
		}
		if b.reading > a.reading || b.reading == a.reading && k < at {
			return false
		}
	}
	return true
}
