// Package leastsquares fits parameters inside a box to measured rows: it minimises half the sum of squares, or half the sum
// of a robust loss, of residuals that are smooth functions of the parameters, by the method of Levenberg and Marquardt.
//
// At every accepted point the Jacobian is folded, in blocks of rows, into a small triangle by Householder reflections, so it
// is never copied whole. Each trial step then minimises the damped linear model inside the box: exactly, by an active set
// over the singular value decomposition of the triangle, so a bound that is reached neither stalls nor bends the step. The
// parameters are scaled by the largest column norms seen so far (Moré, "The Levenberg-Marquardt algorithm: implementation
// and theory", Lecture Notes in Mathematics 630, 1978): their units do not matter. The damping follows from a radius in which
// the linear model is trusted (Moré, section 5), and the radius from the ratio of the fall in cost to the one predicted; the
// damping falls by a limited factor per step. Directions that the rows do not see, by RankTolerance, are never moved in.
//
// Besides the fit there are the covariance of its parameters with the directions left open (Covariance), the likelihood
// interval of one parameter (Profile) and starting points spread over a box (Starts).
//
// What it will not do: look for the lowest of several minima (start it from many points), take differences for derivatives
// (Evaluate gives the Jacobian), or obey constraints other than a box.
//
// Rules for the caller: residuals should be in units of their own uncertainty where the loss is robust; Evaluate must write
// every residual and every entry of the Jacobian, must depend on nothing but the parameters, and must keep none of the
// slices. The same problem, start and options give the same result to the bit. A Problem may be fitted from many goroutines
// at once if its Evaluate allows that.
package leastsquares
