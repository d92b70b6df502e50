# The same distributions by R.
value <- function(data) {
  a <- as.list(data$arguments)
  what <- data$what
  result <- do.call(switch(what,
    normal.cdf = pnorm, normal.upper = function(x) pnorm(x, lower.tail = FALSE), normal.quantile = qnorm,
    studentT.cdf = pt, studentT.upper = function(x, v) pt(x, v, lower.tail = FALSE), studentT.quantile = qt,
    chiSquare.cdf = pchisq, chiSquare.upper = function(x, v) pchisq(x, v, lower.tail = FALSE), chiSquare.quantile = qchisq,
    fisherF.cdf = pf, fisherF.upper = function(x, v, w) pf(x, v, w, lower.tail = FALSE), fisherF.quantile = qf,
    beta.cdf = pbeta, beta.upper = function(x, a, b) pbeta(x, a, b, lower.tail = FALSE), beta.quantile = qbeta,
    binomial.cdf = pbinom, lnGamma = lgamma), a)
  setNames(list(result), what)
}
