# Variance components by restricted maximum likelihood where some assessors did not read some targets, and where targets have
# different numbers of readings. Prints: target, assessor and residual variance; then between and within variance and the mean.
# Run with R 4.2.2, lme4 1.1-31:   Rscript two_way_gaps.R
library(lme4)
y <- c(9, 2, NA, 8, 6, 1, 3, 2, 8, NA, 6, 8, 7, 1, 2, NA, 10, 5, 6, 9, 6, NA, NA, 7)
two <- data.frame(y = y, target = factor(rep(1:6, each = 4)), assessor = factor(rep(1:4, 6)))
print(as.data.frame(VarCorr(lmer(y ~ 1 + (1 | target) + (1 | assessor), two)))$vcov, digits = 12)
one <- data.frame(y = c(1, 3, 4, 5, 6, 8, 8, 9, 7), target = factor(c(1, 1, 2, 2, 2, 3, 3, 3, 3)))
fit <- lmer(y ~ 1 + (1 | target), one)
print(as.data.frame(VarCorr(fit))$vcov, digits = 12)
print(fixef(fit), digits = 12)
