package audit

import (
	"cmp"
	"slices"

	"stopledger/replay"
)

// Finding is one thing about a chart that a person should look at.
type Finding struct {
	Code     string          `json:"code"` // stable, such as "clock-uncovered"
	Severity replay.Severity `json:"severity"`
	Place    Place           `json:"place"`
	Text     string          `json:"text"`            // what is there
	Cause    string          `json:"cause,omitempty"` // what most likely happened
}

// The findings of a review beyond the fold's own.
const (
	PeriodEmpty       = "period-without-chances"
	EndedLevel        = "ended-level"
	ClockUncovered    = "clock-uncovered"
	ChancesAtOnce     = "chances-at-once"
	ChanceLong        = "chance-very-long"
	ChanceBackwards   = "chance-ends-before-it-begins"
	DefenceSilent     = "no-action-by-the-defence"
	ProspectUnsaid    = "prospect-not-mentioned"
	ProspectNoAction  = "prospect-acted-without-action"
	ProspectDisputed  = "prospect-acted-though-not-tested"
	OutsideScope      = "outside-the-charts-scope"
	OpponentOffFloor  = "opponent-not-on-the-floor"
	EndOffFloor       = "end-by-a-man-not-on-the-floor"
	LineupShort       = "line-up-not-five"
	FoulWithoutShots  = "shooting-foul-without-free-throws"
	ShotsWithoutFoul  = "free-throws-without-a-foul"
	AndOneShots       = "made-shot-with-several-free-throws"
	ReboundContradict = "rebound-contradicts-next-chance"
	OriginContradicts = "origin-contradicts-last-chance"
	BlockedAndMade    = "blocked-and-made"
	ChargeNotEnd      = "charge-drawn-without-turnover"
	BoxOutNoMiss      = "box-out-without-a-miss"
	SpotContradicts   = "spot-contradicts-end"
	ActionOutside     = "action-outside-its-chance"
	ActionTwice       = "action-charted-twice"
)

// row is how grave a finding is and what most likely happened.
type row struct {
	severity replay.Severity
	cause    string
}

var ours = map[string]row{
	PeriodEmpty:       {replay.Serious, "the period was not charted, or was charted under another number"},
	EndedLevel:        {replay.Serious, "an overtime is missing, or points are"},
	ClockUncovered:    {replay.Odd, "a chance was not charted, or one was ended too early"},
	ChancesAtOnce:     {replay.Odd, "one of the two has a wrong clock, or a chance was ended late"},
	ChanceLong:        {replay.Remark, "its end was charted late, or another chance is missing inside it; fouls without shots can make it this long too"},
	ChanceBackwards:   {replay.Odd, "one of the two clocks was typed wrongly"},
	DefenceSilent:     {replay.Odd, "the defence was not charted here"},
	ProspectUnsaid:    {replay.Odd, "neither an action nor 'not tested' was entered; say which"},
	ProspectNoAction:  {replay.Odd, "the action was voided, or belongs to another chance"},
	ProspectDisputed:  {replay.Odd, "the action came in after the chance was closed as not tested or not seen"},
	OutsideScope:      {replay.Remark, "the chart holds more than it set out to; what is outside is not audited"},
	OpponentOffFloor:  {replay.Odd, "a substitution is missing, or a shirt number was misread"},
	EndOffFloor:       {replay.Odd, "a substitution is missing, or a shirt number was misread"},
	LineupShort:       {replay.Remark, "a man came in for nobody, or went out for nobody"},
	FoulWithoutShots:  {replay.Odd, "the free throws were not entered, or the foul was no shooting foul"},
	ShotsWithoutFoul:  {replay.Remark, "the fouling defender was not charted"},
	AndOneShots:       {replay.Odd, "a made shot brings one free throw; the shot or the count is wrong, or a technical's were added"},
	ReboundContradict: {replay.Odd, "the rebound is the other side's, or a chance is missing in between"},
	OriginContradicts: {replay.Odd, "the origin is wrong, or a chance is missing in between"},
	BlockedAndMade:    {replay.Odd, "the end is wrong, or the blocked shot was an earlier chance"},
	ChargeNotEnd:      {replay.Odd, "the end should be a turnover by charge, or the charge belongs to another chance"},
	BoxOutNoMiss:      {replay.Remark, "the box-out belongs to another chance, or the miss was not charted"},
	SpotContradicts:   {replay.Odd, "the shot's value is wrong, or its spot"},
	ActionOutside:     {replay.Odd, "its clock is wrong, or it belongs to a neighbouring chance"},
	ActionTwice:       {replay.Odd, "a double tap"},
}

// foldCauses is what most likely lies behind the fold's own findings.
var foldCauses = map[string]string{
	replay.SameIDOtherBytes:  "a file was edited by hand, or a device wrote an event twice",
	replay.NewerVersion:      "a newer program charted part of this",
	replay.NotTimeOrdered:    "the event was made by another program",
	replay.ClockSkew:         "the device's clock was set during the game",
	replay.NumberGap:         "the device still holds events it could not send: open its Pad again",
	replay.NumberTwice:       "two tabs used one pad, or a file was edited",
	replay.WaitingCorrection: "the corrected event has not arrived; its device still holds it",
	replay.CorrectionTie:     "two people corrected the same thing at once: look which is right",
	replay.BadCorrection:     "the correction was made by another program",
	replay.NothingReassigned: "the player did not stand in the events named",
	replay.AfterUnknown:      "the event it should follow has not arrived",
	replay.StrayAction:       "its chance was voided or never arrived: void the action, or restore the chance",
	replay.EndWithoutChance:  "the chance's beginning never arrived: the device may still hold it",
	replay.TwoEnds:           "two charters ended the same chance",
	replay.ChanceOpen:        "its end was not charted",
	replay.ChancesOverlap:    "two charters began the same chance: join them",
	replay.OffenceTwice:      "the other team's chance between them was not charted",
	replay.NotOnFloor:        "a substitution is missing, or a shirt number was misread",
	replay.NotInRoster:       "a shirt number was misread, or the roster lacks a man",
	replay.WrongSide:         "defender and opponent were exchanged, or the chance is the other team's",
	replay.WrongTeam:         "a team's code was mistyped",
	replay.NoGame:            "the game's opening never arrived",
	replay.NoPeriod:          "the chart has no clock yet: set period and clock",
	replay.ClockTooLong:      "the clock was mistyped, or the rule set is wrong",
	replay.ScoreDiffers:      "points were missed or charted double before this moment",
	replay.TotalsDiffer:      "see the totals line by line",
	replay.NoRecord:          "nobody has chosen the chart of record",
	replay.MergeUnknown:      "the chance to keep was voided or never arrived",
	replay.MissingShots:      "the free throws were not entered",
	replay.TooManyShots:      "shots of another chance, or a technical's, were added here",
	replay.NoAdopted:         "the adopted chart's name was mistyped",
}

var gravity = map[replay.Severity]int{replay.Remark: 1, replay.Odd: 2, replay.Serious: 3}

// sortFindings puts the gravest first, then goes by the order of play.
func sortFindings(list []Finding) {
	slices.SortStableFunc(list, func(a, b Finding) int {
		return cmp.Or(
			cmp.Compare(gravity[b.Severity], gravity[a.Severity]), inPlay(a.Place, b.Place),
			cmp.Compare(a.Code, b.Code), cmp.Compare(a.Place.Event, b.Place.Event),
		)
	})
}
