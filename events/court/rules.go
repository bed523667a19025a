package court

const (
	foot = 0.3048 // metres, by definition
	inch = 0.0254
)

// courts holds the dimensions. Sources, by rule set:
//
// fiba: Official Basketball Rules 2024, article 2, through public pages that
// quote them: court 28 m by 15 m and arc 6.75 m (outer edge), free-throw line
// 5.80 m, its length 3.60 m, circles 1.80 m; straight part 0.90 m from the
// sideline; key 4.90 m; basket 1.575 m and backboard 1.20 m from the end line;
// no-charge arc 1.25 m to its inner edge. Backboard 1.80 m wide and ring 450 mm
// across: from memory.
//
// nba: Official Rules, rule 1, through public pages that quote them: 94 ft by
// 50 ft, arc 23 ft 9 in from the middle of the basket, straight part 3 ft from
// the sideline (22 ft from the basket), basket 5 ft 3 in and backboard 4 ft from
// the baseline, lane 16 ft, free-throw line 15 ft from the backboard, restricted
// arc 4 ft. Circles 6 ft, backboard 6 ft: from memory.
//
// ncaa-men, ncaa-women: NCAA Men's and Women's Basketball Court diagram of 17
// June 2019: 94 ft by 50 ft, 63 in, 22 ft 1 3/4 in and 21 ft 7 7/8 in to the
// outside edge, lane 12 ft to the outside edge, free-throw line 19 ft to the
// outside edge, circles 6 ft to the outside edge, restricted arc 4 ft to the
// inner edge, ring 18 in. Women play the same line since 2021-22 (NCAA news of
// 3 June 2021). Backboard 6 ft: from memory.
//
// nfhs: Basketball Rules Book 2019-20, rules 1-4 and 1-5 and figure 1-1, through
// public pages that quote them: 84 ft by 50 ft, semicircle of 19 ft 9 in to the
// outside edge with straight parts of 63 in from the end line, lane 12 ft to the
// outside, free-throw line 15 ft from the backboard's face, circle 6 ft,
// backboard 4 ft from the end line and 6 ft wide, ring 18 in; no arc for the
// no-charge area. The high-school line bends level with the basket, far below
// what a coach calls the corner, so its corner depth is the college one rounded:
// a judgement.
var courts = []Court{
	{
		Rules: "fiba", Length: 28, Width: 15,
		BasketToEndLine: 1.575, BoardToEndLine: 1.2, BoardWidth: 1.8, RingRadius: 0.225,
		ThreeArc: 6.75, ThreeCorner: 6.6,
		LaneWidth: 4.9, FreeThrow: 5.8, CircleSize: 1.8, NoCharge: 1.25,
		CornerDepth: 2.99, // where the line bends, see ArcMeetsStraight
	},
	{
		Rules: "nba", Length: 94 * foot, Width: 50 * foot,
		BasketToEndLine: 63 * inch, BoardToEndLine: 4 * foot, BoardWidth: 6 * foot, RingRadius: 9 * inch,
		ThreeArc: 23.75 * foot, ThreeCorner: 22 * foot,
		LaneWidth: 16 * foot, FreeThrow: 19 * foot, CircleSize: 6 * foot, NoCharge: 4 * foot,
		CornerDepth: 14 * foot, // as the rule text prints it
	},
	college("ncaa-men"),
	college("ncaa-women"),
	{
		Rules: "nfhs", Length: 84 * foot, Width: 50 * foot,
		BasketToEndLine: 63 * inch, BoardToEndLine: 4 * foot, BoardWidth: 6 * foot, RingRadius: 9 * inch,
		ThreeArc: 19.75 * foot, ThreeCorner: 19.75 * foot,
		LaneWidth: 12 * foot, FreeThrow: 19 * foot, CircleSize: 6 * foot, NoCharge: 0,
		CornerDepth: 10 * foot,
	},
}

func college(rules string) Court {
	return Court{
		Rules: rules, Length: 94 * foot, Width: 50 * foot,
		BasketToEndLine: 63 * inch, BoardToEndLine: 4 * foot, BoardWidth: 6 * foot, RingRadius: 9 * inch,
		ThreeArc: 22*foot + 1.75*inch, ThreeCorner: 21*foot + 7.875*inch,
		LaneWidth: 12 * foot, FreeThrow: 19 * foot, CircleSize: 6 * foot, NoCharge: 4 * foot,
		CornerDepth: 118.375 * inch, // as the diagram prints it
	}
}
