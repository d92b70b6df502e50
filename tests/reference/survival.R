# Reference values for tests/progression/survival.test.ts. Program: R 4.2.2, package survival 3.5-3 (Debian 12).
# Run: Rscript tests/reference/survival.R
library(survival)
d <- data.frame(t = c(5, 8, 12, 3, 9, 11, 6, 14, 2, 7, 10, 13), e = c(1, 1, 0, 1, 1, 0, 1, 0, 1, 1, 0, 1),
                x = c(0, 1, 0, 1, 1, 0, 0, 1, 1, 0, 1, 0), id = rep(1:6, each = 2))
tied <- transform(d, t = c(5, 8, 12, 3, 8, 11, 5, 14, 3, 8, 10, 13))
show <- function(fit) print(c(coef(fit), sqrt(diag(fit$var)), fit$loglik[2]), digits = 15)
show(coxph(Surv(t, e) ~ x, data = d, cluster = id))
for (m in c("efron", "breslow")) show(coxph(Surv(t, e) ~ x, data = tied, cluster = id, ties = m))
late <- transform(tied, s = c(0, 2, 4, 0, 1, 5, 0, 6, 1, 2, 3, 0))
show(coxph(Surv(s, t, e) ~ x, data = late))
curve <- survfit(Surv(s, t, e) ~ 1, data = late)
print(cbind(curve$time, curve$surv, curve$surv * curve$std.err), digits = 15)
clustered <- survfit(Surv(t, e) ~ 1, data = tied, cluster = id)
print(cbind(clustered$time, clustered$surv, clustered$std.err), digits = 15)
kinds <- survfit(Surv(t, factor(c(1, 2, 0, 1, 2, 0, 1, 0, 1, 2, 0, 1))) ~ 1, data = tied)
print(cbind(kinds$time, kinds$pstate), digits = 15)
print(survdiff(Surv(t, e) ~ x + strata(rep(1:2, each = 6)), data = tied)$chisq, digits = 15)
