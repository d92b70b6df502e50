# Kendall's tau-b and its normal p-value with ties, no continuity correction.
# Run with R 4.2.2:   Rscript kendall_tau_ties.R
x <- c(1, 2, 2, 3, 4, 4, 4, 5, 0, 2)
y <- c(0, 2, 1, 3, 3, 4, 5, 4, 1, 2)
test <- cor.test(x, y, method = "kendall", exact = FALSE)
print(c(test$estimate, p = test$p.value), digits = 12)
