package replay

import "stopledger/events"

// The findings of the fold. Each code has one row: how grave it is.
const (
	SameIDOtherBytes  = "same-id-other-bytes"
	NewerVersion      = "newer-version"
	NotTimeOrdered    = "id-not-time-ordered"
	ClockSkew         = "clock-skew"
	NumberGap         = "gap-in-n"
	NumberTwice       = "n-used-twice"
	WaitingCorrection = "correction-waits"
	CorrectionTie     = "corrections-tie"
	BadCorrection     = "correction-unreadable"
	NothingReassigned = "nothing-to-reassign"
	AfterUnknown      = "after-unknown"
	StrayAction       = "stray-action"
	EndWithoutChance  = "end-without-chance"
	TwoEnds           = "two-ends"
	ChanceOpen        = "chance-without-end"
	ChancesOverlap    = "chances-overlap"
	OffenceTwice      = "same-offence-twice"
	NotOnFloor        = "not-on-the-floor"
	NotInRoster       = "not-in-roster"
	WrongSide         = "wrong-side"
	WrongTeam         = "team-not-in-game"
	NoGame            = "game-not-opened"
	NoPeriod          = "no-period"
	ClockTooLong      = "clock-beyond-period"
	ScoreDiffers      = "score-differs"
	TotalsDiffer      = "totals-differ"
	NoRecord          = "no-chart-of-record"
	MergeUnknown      = "merge-unknown"
	MissingShots      = "free-throws-missing"
	TooManyShots      = "free-throws-too-many"
	NoAdopted         = "adopted-chart-missing"
	NotAnEvent        = "not-an-event"
)

var severities = map[string]Severity{
	SameIDOtherBytes: Serious, NewerVersion: Remark, NotTimeOrdered: Remark, ClockSkew: Remark,
	NumberGap: Serious, NumberTwice: Serious, WaitingCorrection: Odd, CorrectionTie: Odd, BadCorrection: Serious,
	NothingReassigned: Odd, AfterUnknown: Odd, StrayAction: Odd, EndWithoutChance: Serious, TwoEnds: Odd,
	ChanceOpen: Odd, ChancesOverlap: Serious, OffenceTwice: Odd, NotOnFloor: Odd, NotInRoster: Odd, WrongSide: Odd,
	WrongTeam: Serious, NoGame: Serious, NoPeriod: Odd, ClockTooLong: Odd, ScoreDiffers: Odd, TotalsDiffer: Serious,
	NoRecord: Remark, MergeUnknown: Odd, MissingShots: Odd, TooManyShots: Serious, NoAdopted: Odd, NotAnEvent: Serious,
}

func found(what string, about events.ID, text string) Finding {
	return Finding{What: what, Severity: severities[what], Event: about, Text: text}
}
