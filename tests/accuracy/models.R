# Fits of the models by the packages lme4, ordinal, geepack and msm, on the same rows.
tight <- lme4::lmerControl(optimizer = "nloptwrap", calc.derivs = FALSE,
  optCtrl = list(xtol_abs = 1e-13, ftol_abs = 1e-14, xtol_rel = 0, ftol_rel = 0, maxeval = 1e5))

linear <- function(input) {
  d <- as.data.frame(input$data)
  d$P <- factor(d$patient); d$A <- factor(d$assessor)
  m <- lme4::lmer(length ~ warm + (1 | P) + (1 | A), d, control = tight)
  v <- as.data.frame(lme4::VarCorr(m))
  v <- setNames(v$vcov, v$grp)
  list(criterion = lme4::REMLcrit(m), `fixed 0` = lme4::fixef(m)[[1]], `fixed 1` = lme4::fixef(m)[[2]],
    `variance 0` = v[["P"]], `variance 1` = v[["A"]], `variance 2` = v[["Residual"]])
}

profile_limits <- function(input) {
  d <- as.data.frame(input$data)
  d$P <- factor(d$patient); d$A <- factor(d$assessor)
  m <- lme4::lmer(length ~ warm + (1 | P) + (1 | A), d, REML = FALSE, control = tight)
  l <- confint(m, parm = "warm", method = "profile", quiet = TRUE)
  list(lower = l[1, 1], upper = l[1, 2])
}

ordinal <- function(input) {
  d <- as.data.frame(input$data)
  d$P <- factor(d$patient); d$g <- factor(d$grade)
  control <- ordinal::clmm.control(gradTol = 1e-8, maxIter = 200)
  m <- ordinal::clmm(g ~ warm + (1 | P), data = d, nAGQ = input$points, link = input$link, control = control)
  result <- c(list(logLikelihood = as.numeric(logLik(m)), deviation = attr(ordinal::VarCorr(m)$P, "stddev")[[1]]), as.list(unname(coef(m))))
  setNames(result, c("logLikelihood", "deviation", paste("parameter", seq_along(coef(m)) - 1)))
}

marginal <- function(input) {
  d <- as.data.frame(input$data)
  d$high <- as.integer(d$grade >= 1)
  m <- geepack::geeglm(high ~ warm, id = patient, data = d, family = binomial, corstr = input$correlation,
    control = geepack::geese.control(epsilon = 1e-13, maxit = 500))
  s <- summary(m)$coefficients
  list(`effect 0` = s[1, 1], `effect 1` = s[2, 1], `error 0` = s[1, 2], `error 1` = s[2, 2])
}

odds <- function(input) {
  d <- as.data.frame(input$data)
  d$g <- factor(d$grade)
  control <- ordinal::clm.control(gradTol = 1e-10)
  common <- ordinal::clm(g ~ warm, data = d, control = control)
  varying <- ordinal::clm(g ~ 1, nominal = ~ warm, data = d, control = control)
  statistic <- 2 * as.numeric(logLik(varying) - logLik(common))
  list(statistic = statistic, pValue = pchisq(statistic, nlevels(d$g) - 2, lower.tail = FALSE))
}

markov <- function(input) {
  d <- as.data.frame(input$data)
  d$state <- d$category + 1
  q <- input$rates; diag(q) <- 0
  m <- if (is.null(input$errors)) msm::msm(state ~ time, subject = subject, data = d, qmatrix = q, control = list(reltol = 1e-15, maxit = 2000))
    else msm::msm(state ~ time, subject = subject, data = d, qmatrix = q, ematrix = input$errors, initprobs = input$initial,
      control = list(reltol = 1e-15, maxit = 5000, fnscale = 1000))
  fitted <- msm::qmatrix.msm(m, ci = "none")
  list(logLikelihood = -m$minus2loglik / 2, `rate 0 1` = fitted[1, 2], `rate 1 2` = fitted[2, 3])
}

cox <- function(input) {
  d <- as.data.frame(input[c("times", "events", "entries", "x", "patients")])
  m <- survival::coxph(survival::Surv(entries, times, events) ~ x, data = d, cluster = patients, ties = input$ties,
    control = survival::coxph.control(eps = 1e-14, toler.chol = 1e-15, iter.max = 100))
  list(logRatio = coef(m)[[1]], standardError = sqrt(m$var[1, 1]), logLikelihood = m$loglik[2])
}

reliability <- function(input) {
  r <- suppressWarnings(psych::ICC(as.data.frame(input$rows), lmer = FALSE))$results
  list(`one-way` = r$ICC[1], agreement = r$ICC[2], consistency = r$ICC[3], `agreement lower` = r$`lower bound`[2], `agreement upper` = r$`upper bound`[2])
}
