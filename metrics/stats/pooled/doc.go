// Package pooled fits one hierarchical model to many small counts, so that a
// cell with few trials borrows from its neighbours by as much as the data say.
//
// # Model
//
// A cell has successes y of n trials, both real-valued (sums of weights), and
// four indices: group d (with a class of its own), item k, opposing class r and
// condition s.
//
//	logit p = mu_k + rho_{own class,k} + alpha_d + beta_{d,k} + gamma_{r,k} + delta_{s,k}
//	mu_k ~ N(0, 1.5²); each other family ~ N(0, scale²); every scale ~ half-normal(0.5)
//
// The five scales are unknown and are integrated over. Every factor stays in the
// model with one level, or none: its scale then integrates over its prior, and
// what was never seen is as much in doubt as it should be.
//
// # Method
//
// Nested Laplace approximation (Rue H, Martino S, Chopin N (2009) JRSS B
// 71:319-392) with a variational correction of the inner Gaussian:
//
//   - Given the scales, all effects are written as scale times a standard normal
//     (non-centred), so the Hessian is at least the identity and a scale may go
//     to 0. Damped Newton finds the mode. Each beta is a scalar and is
//     eliminated first, then each alpha; what is left, the border of shared
//     effects mu, rho, gamma and delta, is dense but does not grow with the
//     number of groups. Cost is linear in groups.
//   - The mode of a sparse cell is not its mean, and Laplace's curvature is not
//     its variance. The Gaussian is moved to the one that is closest in
//     Kullback-Leibler divergence (Opper M, Archambeau C (2009) Neural Computation
//     21:786-792): the same equations, with logistic derivatives averaged over
//     the Gaussian of each cell. The first step of it is the third-order mean
//     shift ½H⁻¹ Σ a l”' (aᵀH⁻¹a). The bound on the evidence replaces Laplace's value,
//     whose error adds up over thousands of cells of a few trials each.
//   - Scales are written s = F⁻¹(Φ(z)), F the half-normal distribution function,
//     so that the prior of z is N(0, I). Mode by quasi-Newton with exact
//     gradients, curvature by differences of gradients, eigenvalues floored, and
//     a central composite design of 27 points whose weights are the bound's.
//   - A Gaussian does not lean, and the posterior of a cell near none or all of n
//     does. Draws are moved by the third cumulant, a Cornish-Fisher map (lean.go).
//   - Below 30 effects or 200 trials, draws are weighted by the exact posterior
//     and resampled, and the design is a cloud of 192 places; the Pareto shape k of
//     the weights is reported ([Check]). Where the weights are no good the Gaussian
//     draws stand, and it says so.
//   - A fit that starts from an earlier one solves only the groups that changed
//     ([Options.Start], refit.go).
//
// How well this does is in the tests: against lme4 at its own scale, long-run MCMC
// on data sets of several kinds, and simulation-based calibration, whose full run
// is
//
//	go test ./metrics/stats/pooled -run CalibrationFull -calibration.full=1000 -v
//
// With thousands of trials a group the cost is the logistic function; with few it
// is the border, cubic in (items times levels), so declare only levels in use.
//
// # Use
//
// [Fit] a [Data]; take [Draws] from the [Posterior]; ask them for rates of cells
// ([Draws.Seen], [Draws.Rate]), for mixtures over items that groups share
// ([Draws.Mix]), or for a group nobody has seen ([Draws.MixNew]). All draws are
// joint: draw i of one question and draw i of another belong together. The same
// data, options and seed give the same bytes.
//
// Never read single families as if the data had told them apart: use rates of
// cells and contrasts between them.
package pooled
