# Autocorrelation of a series of R's datasets package (printed in Diggle PJ, Time Series, 1990, Table A.1).
# Rscript tests/reference/unit-series.R
print(acf(lh, plot = FALSE)$acf[2:3], digits = 9)
