// Package stats turns counts into numbers with honest doubt: intervals for
// rates and bounded means, the design effect of clustered counts, and
// agreement between raters.
//
// Counts are real-valued throughout, because trials carry weights and are
// divided by a design effect. Call [Wilson] or [Jeffreys] for a rate and
// [MeanInterval] for the mean of a small whole-numbered variable; reduce the
// counts first with [ClusterDesign] or [RaoScott] when trials come in clusters.
// [ShrunkMeans] pools such means over items, and [Design] plans how many more
// trials would settle a difference. For agreement see [Kappa], [WeightedKappa], [FleissKappa] and [Alpha], and
// [BootstrapClusters] for an interval around any of them.
//
// Nothing here returns NaN for a finite input: where there is no information
// an interval is the whole range and an estimate says that it is undefined.
// The pooled model lives in the package below, pooled.
package stats
