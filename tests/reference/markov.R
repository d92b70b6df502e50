# Reference values for tests/models: continuous-time and hidden Markov models.
# R 4.2.2 with msm 1.7 (Debian packages r-base-core, r-cran-msm). Run: Rscript tests/reference/markov.R
library(msm)
say <- function(what, value) cat(sprintf("%-60s %s\n", what, paste(format(value, digits = 14), collapse = " ")))

# Equal exit rates in a one-way chain: Q is defective.
equal <- rbind(c(0, .1, 0, 0), c(0, 0, .1, 0), c(0, 0, 0, .1), c(0, 0, 0, 0))
m <- msm(state ~ months, subject = ptnum, data = psor, qmatrix = equal, fixedpars = TRUE)
say("psor, all rates 0.1, -2 log L", m$minus2loglik)

one_way <- rbind(c(0, .1, 0, 0), c(0, 0, .1, 0), c(0, 0, 0, .1), c(0, 0, 0, 0))
m <- msm(state ~ months, subject = ptnum, data = psor, qmatrix = one_way,
         covariates = ~ ollwsdrt + hieffusn, center = FALSE, control = list(reltol = 1e-11, maxit = 1000))
say("psor with two covariates, -2 log L", m$minus2loglik)
for (name in c("ollwsdrt", "hieffusn")) {
  h <- hazard.msm(m)[[name]]
  say(paste("  ratios of", name), h[, "HR"]); say("  lower", h[, "L"]); say("  upper", h[, "U"])
}

# Censored codes and an exact end.
Q <- rbind(c(0, .25, 0, .25), c(.166, 0, .166, .166), c(0, .25, 0, .25), c(0, 0, 0, 0))
d <- cav
last <- !duplicated(d$PTNUM, fromLast = TRUE)
d$state[last & d$state != 4] <- 99
m <- msm(state ~ years, subject = PTNUM, data = d, qmatrix = Q, deathexact = 4, censor = 99, censor.states = 1:3, fixedpars = TRUE)
say("cav, last living state replaced by 'alive', -2 log L", m$minus2loglik)

# Misreading at fixed numbers, exact end, first state free among the living.
Qm <- rbind(c(0, .148, 0, .0171), c(0, 0, .202, .081), c(0, 0, 0, .126), c(0, 0, 0, 0))
E <- rbind(c(0, .1, 0, 0), c(.1, 0, .1, 0), c(0, .1, 0, 0), c(0, 0, 0, 0))
m <- msm(state ~ years, subject = PTNUM, data = cav, qmatrix = Qm, ematrix = E, deathexact = 4, initprobs = c(.7, .2, .1, 0), fixedpars = TRUE)
say("cav, misreading at fixed numbers, start .7 .2 .1, -2 log L", m$minus2loglik)

# A matrix for each of two readers is a covariate on the misreading odds; at fixed numbers, as the fit does not converge.
m <- msm(state ~ years, subject = PTNUM, data = cav, qmatrix = Qm, ematrix = E, deathexact = 4, misccovariates = ~ sex,
         misccovinits = list(sex = c(.5, -.3, .2, .1)), center = FALSE, fixedpars = TRUE)
say("cav, one matrix for each sex, at fixed numbers, -2 log L", m$minus2loglik)
print(ematrix.msm(m, covariates = list(sex = 1), ci = "none"), digits = 14)

# Limits of misreading probabilities from the fit's own covariance, by a million draws.
m <- msm(state ~ years, subject = PTNUM, data = cav, qmatrix = Qm, ematrix = E, deathexact = 4,
         control = list(fnscale = 4000, reltol = 1e-11, maxit = 1000))
set.seed(1)
x <- MASS::mvrnorm(1e6, m$paramdata$opt$par, solve(0.5 * m$paramdata$opt$hessian))[, 7:8]
p <- exp(x) / (1 + rowSums(exp(x)))
say("cav, P(1 read | 2), 95 % of draws", quantile(p[, 1], c(.025, .975)))
say("cav, P(2 read | 2), 95 % of draws", quantile(1 - rowSums(p), c(.025, .975)))

# A chain with complex eigenvalues.
C <- rbind(c(-1, .9, .1), c(.05, -.8, .75), c(.7, .1, -.8))
say("exp(1.7 Q) of a chain that goes round", MatrixExp(C, t = 1.7, method = "pade"))
