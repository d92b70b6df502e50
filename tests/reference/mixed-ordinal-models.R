# Reference values for tests/models: linear mixed, cumulative-link and marginal logistic models.
# Run: Rscript tests/reference/mixed-ordinal-models.R > tests/reference/mixed-ordinal-models.json
# Data are simulated here and written beside the results, so that the tests need no R.
suppressMessages({ library(lme4); library(lmerTest); library(ordinal); library(geepack); library(jsonlite) })

lmer <- lme4::lmer
tight <- lmerControl(optimizer = "nloptwrap", calc.derivs = FALSE,
  optCtrl = list(xtol_abs = 1e-12, ftol_abs = 1e-13, xtol_rel = 0, ftol_rel = 0, maxeval = 1e5))

summary_lmer <- function(model) {
  effects <- ranef(model, condVar = TRUE)
  list(criterion = as.numeric(if (isREML(model)) REMLcrit(model) else -2 * logLik(model)),
    fixed = unname(fixef(model)), fixedErrors = unname(sqrt(diag(as.matrix(vcov(model))))),
    covariances = lapply(VarCorr(model), function(m) unname(as.numeric(m[upper.tri(m, diag = TRUE)]))),
    residual = sigma(model)^2,
    fixedDegrees = unname(coef(summary(as_lmerModLmerTest(model)))[, "df"]),
    firstEffects = lapply(effects, function(e) unname(e[[1]])),
    firstDeviations = lapply(effects, function(e) sqrt(unname(attr(e, "postVar")[1, 1, ]))),
    slopes = if (ncol(effects$P) > 1) unname(effects$P[[2]]),
    slopeDeviations = if (ncol(effects$P) > 1) sqrt(unname(attr(effects$P, "postVar")[2, 2, ])))
}

set.seed(20260301)
# 30 patients x 2 limbs x 1-3 readings by 5 assessors: crossed, nested and with gaps.
d <- expand.grid(reading = 1:3, limb = c("left", "right"), patient = 1:30, stringsAsFactors = FALSE)
d <- d[runif(nrow(d)) < .8, ]
d$assessor <- sample(1:5, nrow(d), TRUE)
d$day <- sample(0:90, nrow(d), TRUE)
d$warm <- rbinom(nrow(d), 1, .5)
d$key <- paste(d$patient, d$limb)
limbs <- unique(d$key)
patients <- rnorm(30) * 1.5; slopes <- rnorm(30) * .02; limb <- rnorm(length(limbs)) * .7; assessors <- rnorm(5) * .6
latent <- 2 + .5 * d$warm + .01 * d$day + patients[d$patient] + slopes[d$patient] * d$day + limb[match(d$key, limbs)] + assessors[d$assessor]
d$length <- round(latent + rnorm(nrow(d)) * .8, 3)
d$grade <- as.integer(cut(latent - 2 + rlogis(nrow(d)), c(-Inf, -1, .5, 2, Inf))) - 1
d$grade_factor <- factor(d$grade)
d$P <- factor(d$patient); d$L <- factor(d$key); d$A <- factor(d$assessor)

crossed <- length ~ warm + day + (1 | P) + (1 | L) + (1 | A)
sloped <- length ~ warm + day + (1 + day | P) + (1 | A)
linear <- list(
  crossedREML = summary_lmer(lmer(crossed, d, control = tight)),
  crossedML = summary_lmer(lmer(crossed, d, REML = FALSE, control = tight)),
  slopedREML = summary_lmer(lmer(sloped, d, control = tight)),
  slopedML = summary_lmer(lmer(sloped, d, REML = FALSE, control = tight)))
profile <- lmer(length ~ warm + (1 | P) + (1 | A), d, REML = FALSE, control = tight)
limits <- suppressMessages(confint(profile, method = "profile", oldNames = FALSE))
linear$profileML <- list(names = rownames(limits), lower = unname(limits[, 1]), upper = unname(limits[, 2]))

# Patients who differ less than chance would have it: the variance between them is zero.
edge <- data.frame(group = rep(1:6, each = 4), y = rep(c(1, 2, 3, 4), 6) + rep(c(.01, -.01), 12))
linear$edge <- list(group = edge$group, y = edge$y,
  criterion = as.numeric(REMLcrit(suppressMessages(lmer(y ~ 1 + (1 | group), edge)))))

control <- clmm.control(gradTol = 1e-8, maxIter = 200)
summary_clmm <- function(model) list(logLik = as.numeric(logLik(model)), coefficients = unname(coef(model)),
  errors = unname(sqrt(diag(vcov(model)))[seq_along(coef(model))]),
  deviations = lapply(VarCorr(model), function(m) unname(attr(m, "stddev"))),
  firstEffects = lapply(ranef(model), function(e) unname(e[[1]])),
  firstVariances = lapply(condVar(model), function(e) unname(e[[1]])))
ordinal <- list(
  plain = { m <- clm(grade_factor ~ warm + day, data = d); list(logLik = as.numeric(logLik(m)), coefficients = unname(coef(m)), errors = unname(sqrt(diag(vcov(m))))) },
  probit = { m <- clm(grade_factor ~ warm + day, data = d, link = "probit"); list(logLik = as.numeric(logLik(m)), coefficients = unname(coef(m)), errors = unname(sqrt(diag(vcov(m))))) },
  varying = { m <- clm(grade_factor ~ day, nominal = ~ warm, data = d); list(logLik = as.numeric(logLik(m))) },
  laplace = summary_clmm(clmm(grade_factor ~ warm + day + (1 | P), data = d, control = control)),
  quadrature = summary_clmm(clmm(grade_factor ~ warm + day + (1 | P), data = d, nAGQ = 9, control = control)),
  probitQuadrature = summary_clmm(clmm(grade_factor ~ warm + day + (1 | P), data = d, nAGQ = 9, link = "probit", control = control)),
  crossed = summary_clmm(clmm(grade_factor ~ warm + day + (1 | P) + (1 | A), data = d, control = control)),
  nested = summary_clmm(clmm(grade_factor ~ warm + day + (1 | P) + (1 | L) + (1 | A), data = d, control = control)))

d$high <- as.integer(d$grade >= 2)
d <- d[order(d$patient), ]
gee <- function(correlation) {
  m <- geeglm(high ~ warm + day, id = patient, data = d, family = binomial, corstr = correlation)
  list(coefficients = unname(coef(m)), errors = summary(m)$coefficients[, "Std.err"])
}
marginal <- list(independence = gee("independence"), exchangeable = gee("exchangeable"))

# Randall's bitterness of wine; the table itself is in tests/support/wine.ts.
taste <- function(formula, ...) {
  m <- clmm(formula, data = wine, control = control, ...)
  list(logLik = as.numeric(logLik(m)), covariances = lapply(VarCorr(m), function(v) unname(v[upper.tri(v, diag = TRUE)])))
}
wines <- list(
  quadrature = taste(rating ~ temp + contact + (1 | judge), nAGQ = 10),
  probit = taste(rating ~ temp + contact + (1 | judge), nAGQ = 5, link = "probit"),
  crossed = taste(rating ~ 1 + (1 | judge) + (1 | bottle)),
  slope = taste(rating ~ temp + contact + (1 + temp | judge)))

cat(toJSON(list(
  program = paste("R", getRversion(), "lme4", packageVersion("lme4"), "ordinal", packageVersion("ordinal"), "geepack", packageVersion("geepack"), "lmerTest", packageVersion("lmerTest")),
  data = d[, c("patient", "limb", "assessor", "day", "warm", "length", "grade")],
  linear = linear, ordinal = ordinal, marginal = marginal, wine = wines),
  dataframe = "columns", digits = NA, auto_unbox = TRUE), "\n")
