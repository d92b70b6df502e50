# One piece of work by R, in a process of its own, on the data that write-data.mjs wrote: prints as JSON what was
# computed, how long the work took once data and package were read, and the most memory of the process.
# usage: Rscript tests/benchmark/reference.R <piece> <folder of the data> [name=number ...]
arguments <- commandArgs(TRUE)
piece <- arguments[1]
folder <- arguments[2]
settings <- list()
for (one in arguments[-(1:2)]) settings[[sub("=.*", "", one)]] <- as.numeric(sub(".*=", "", one))

column <- function(name, what) {
  path <- file.path(folder, name)
  if (what == "i32") readBin(paste0(path, ".i32"), "integer", file.size(paste0(path, ".i32")) / 4, size = 4)
  else readBin(paste0(path, ".f64"), "double", file.size(paste0(path, ".f64")) / 8)
}
whole <- function(name) column(name, "i32")
fraction <- function(name) column(name, "f64")

most_memory <- function() {
  if (!file.exists("/proc/self/status")) return(NA)
  line <- grep("^VmHWM", readLines("/proc/self/status"), value = TRUE)
  1024 * as.numeric(gsub("[^0-9]", "", line))
}

size <- 4
weights <- 1 - outer(1:size, 1:size, "-")^2 / (size - 1)^2
kappa_of_table <- function(table) {
  share <- table / sum(table)
  observed <- sum(weights * share)
  expected <- sum(weights * outer(rowSums(share), colSums(share)))
  (observed - expected) / (1 - expected)
}

pairs_of <- function() {
  codes <- matrix(whole("codes"), nrow = 2)
  list(a = codes[1, ], b = codes[2, ], patient = whole("patient") + 1L)
}

# Rows of patients drawn with replacement, one after the other.
drawn_rows <- function(rows) unlist(rows[sample.int(length(rows), replace = TRUE)], use.names = FALSE)

# Per patient: agreement, counts of the first margin, counts of the second.
kappa_sums <- function(d) {
  n <- max(d$patient)
  cbind(as.vector(rowsum(weights[cbind(d$a + 1, d$b + 1)], d$patient)),
    matrix(tabulate(d$patient + n * d$a, n * size), n), matrix(tabulate(d$patient + n * d$b, n * size), n))
}
# Kappa of each row of sums.
kappa_of_sums <- function(s) {
  n <- rowSums(s[, 2:5, drop = FALSE])
  expected <- rowSums((s[, 2:5, drop = FALSE] %*% weights) * s[, 6:9, drop = FALSE])
  (n * s[, 1] - expected) / (n * n - expected)
}
# Studentized on Fisher's scale, each replicate with its own leave-one-patient-out error.
studentized <- function(sums, value_of, replicates) {
  patients <- nrow(sums)
  error_of <- function(totals, times) {
    some <- times > 0
    without <- value_of(matrix(totals, sum(some), length(totals), byrow = TRUE) - sums[some, ])
    often <- times[some]
    mean <- sum(often * without) / patients
    sqrt((patients - 1) / patients * sum(often * (without - mean)^2))
  }
  totals <- colSums(sums)
  value <- value_of(matrix(totals, 1))
  error <- error_of(totals, rep(1, patients))
  t <- numeric(replicates)
  for (r in seq_len(replicates)) {
    times <- tabulate(sample.int(patients, replace = TRUE), patients)
    own <- as.vector(times %*% sums)
    again <- value_of(matrix(own, 1))
    t[r] <- (atanh(again) - atanh(value)) * (1 - again^2) / error_of(own, times)
  }
  list(value = value, error = error, t = t)
}
limits <- function(made, symmetric) {
  reach <- made$error / (1 - made$value^2)
  # Order statistics at (n + 1)p, as ours.
  q <- if (symmetric) rep(quantile(abs(made$t), .95, type = 6), 2) else quantile(made$t, c(.975, .025), type = 6) * c(1, -1)
  tanh(atanh(made$value) + c(-1, 1) * reach * unname(q))
}

pieces <- list(
  "bootstrap-table" = function() {
    d <- pairs_of()
    rows <- split(seq_along(d$a), d$patient)
    function() {
      for (r in seq_len(settings$replicates)) {
        at <- drawn_rows(rows)
        kappa_of_table(table(factor(d$a[at], 0:3), factor(d$b[at], 0:3)))
      }
      list(kappa = kappa_of_table(table(factor(d$a, 0:3), factor(d$b, 0:3))))
    }
  },
  "bootstrap-table-doubles" = function() {
    d <- pairs_of()
    rows <- split(seq_along(d$a), d$patient)
    a <- as.double(d$a)
    b <- as.double(d$b)
    function() {
      for (r in seq_len(settings$replicates)) {
        at <- drawn_rows(rows)
        kappa_of_table(table(factor(a[at], 0:3), factor(b[at], 0:3)))
      }
      list(kappa = kappa_of_table(table(factor(a, 0:3), factor(b, 0:3))))
    }
  },
  "bootstrap-tabulate" = function() {
    d <- pairs_of()
    rows <- split(seq_along(d$a), d$patient)
    cell <- 1L + d$a + 4L * d$b
    function() {
      for (r in seq_len(settings$replicates)) kappa_of_table(matrix(tabulate(cell[drawn_rows(rows)], 16L), 4))
      list(kappa = kappa_of_table(matrix(tabulate(cell, 16L), 4)))
    }
  },
  "bootstrap-counts" = function() {
    d <- pairs_of()
    function() {
      patients <- max(d$patient)
      counts <- matrix(tabulate(d$patient + patients * (d$a + 4L * d$b), patients * 16L), patients)
      for (r in seq_len(settings$replicates))
        kappa_of_table(matrix(tabulate(sample.int(patients, replace = TRUE), patients) %*% counts, 4))
      list(kappa = kappa_of_table(matrix(colSums(counts), 4)))
    }
  },
  "bootstrap-studentized" = function() {
    d <- pairs_of()
    function() {
      made <- studentized(kappa_sums(d), kappa_of_sums, settings$replicates)
      ends <- limits(made, FALSE)
      list(kappa = made$value, error = made$error, lower = ends[1], upper = ends[2])
    }
  },
  "bootstrap-psych" = function() {
    suppressPackageStartupMessages(library(psych))
    d <- pairs_of()
    rows <- split(seq_along(d$a), d$patient)
    both <- cbind(d$a, d$b)
    function() {
      for (r in seq_len(settings$replicates)) suppressWarnings(cohen.kappa(both[drawn_rows(rows), ]))
      list(kappa = suppressWarnings(cohen.kappa(both))$weighted.kappa)
    }
  },
  study = function() {
    codes <- matrix(whole("codes"), nrow = 5)
    patient <- whole("patient") + 1L
    site <- whole("site")
    sites <- list("pulse-grade" = 0:6, "pitting-edema" = 7:13)
    names <- c("brachial", "radial", "ulnar", "femoral", "popliteal", "posterior-tibial", "dorsalis-pedis",
      "forearm", "dorsum-of-hand", "thigh", "pretibial-shin", "lower-calf", "behind-medial-malleolus", "dorsum-of-foot")
    pairs <- rbind(utils::combn(5, 2))
    # Per patient: agreement, targets, then the counts of each assessor.
    sums_of <- function(rows) {
      k <- codes[, rows, drop = FALSE]
      agreement <- 0
      for (p in 1:10) agreement <- agreement + weights[cbind(k[pairs[1, p], ] + 1, k[pairs[2, p], ] + 1)] / 10
      n <- max(patient)
      cbind(as.vector(rowsum(agreement, patient[rows])), tabulate(patient[rows], n),
        do.call(cbind, lapply(1:5, function(g) matrix(tabulate(patient[rows] + n * k[g, ], n * size), n))))
    }
    conger <- function(s) {
      p <- lapply(1:5, function(g) s[, 2 + 4 * (g - 1) + 1:4, drop = FALSE] / s[, 2])
      all <- Reduce(`+`, p)
      form <- function(x) rowSums((x %*% weights) * x)
      expected <- (form(all) - Reduce(`+`, lapply(p, form))) / 20
      1 - (1 - s[, 1] / s[, 2]) / (1 - expected)
    }
    function() {
      found <- list()
      for (sign in names(sites)) {
        mine <- which(site %in% sites[[sign]])
        for (group in c(NA, sites[[sign]])) {
          rows <- if (is.na(group)) mine else which(site == group)
          made <- studentized(sums_of(rows), conger, settings$replicates)
          name <- paste(sign, if (is.na(group)) "all" else names[group + 1])
          found[[paste("kappa", name)]] <- made$value
          found[[paste("error", name)]] <- made$error
        }
        at <- 0
        for (second in 2:5) for (first in seq_len(second - 1)) {
          apart <- codes[second, mine] - codes[first, mine]
          found[[paste("exact", sign, at)]] <- mean(apart == 0)
          found[[paste("shift", sign, at)]] <- mean(apart)
          at <- at + 1
        }
      }
      found
    }
  },
  "one-kappa" = function() {
    suppressPackageStartupMessages(library(psych))
    codes <- t(matrix(whole("codes"), nrow = 2))
    function() list(kappa = suppressWarnings(cohen.kappa(codes))$weighted.kappa)
  },
  "hidden-markov-data" = function() {
    suppressPackageStartupMessages(library(msm))
    function() {
      # As the package ships it, used at run time alone.
      cav <- cav[cav$PTNUM %in% unique(cav$PTNUM)[seq_len(settings$patients)], ]
      writeBin(as.integer(cav$PTNUM), file.path(folder, "subject.i32"), size = 4)
      writeBin(as.integer(cav$state), file.path(folder, "state.i32"), size = 4)
      writeBin(as.double(cav$years), file.path(folder, "years.f64"))
      list()
    }
  },
  "hidden-markov" = function() {
    suppressPackageStartupMessages(library(msm))
    rates <- rbind(c(0, .148, 0, .0171), c(0, 0, .202, .081), c(0, 0, 0, .126), c(0, 0, 0, 0))
    misreadings <- rbind(c(0, .1, 0, 0), c(.1, 0, .1, 0), c(0, .1, 0, 0), c(0, 0, 0, 0))
    d <- data.frame(state = whole("state"), years = fraction("years"), subject = whole("subject"))
    function() {
      # Its own settings reach the maximum here, and sooner than with tighter ones.
      m <- msm(state ~ years, subject = subject, data = d, qmatrix = rates, ematrix = misreadings, deathexact = 4)
      list(criterion = m$minus2loglik, rate = qmatrix.msm(m, ci = "none")[1, 2], misread = ematrix.msm(m, ci = "none")[2, 1])
    }
  },
  "ordinal-mixed" = function() {
    suppressPackageStartupMessages(library(ordinal))
    d <- data.frame(grade = factor(whole("grade")), x = fraction("x"), patient = factor(whole("group")))
    function() {
      m <- clmm(grade ~ x + (1 | patient), data = d)
      list(logLikelihood = as.numeric(logLik(m)), effect = unname(m$beta), deviation = unname(attr(VarCorr(m)[[1]], "stddev")))
    }
  },
  "crossed-mixed" = function() {
    suppressPackageStartupMessages(library(lme4))
    d <- data.frame(number = fraction("number"), target = factor(whole("target")), assessor = factor(whole("assessor")))
    function() {
      m <- lmer(number ~ 1 + (1 | target) + (1 | assessor), data = d)
      parts <- as.data.frame(VarCorr(m))
      of <- function(group) parts$vcov[parts$grp == group]
      list(criterion = REMLcrit(m), target = of("target"), assessor = of("assessor"), residual = of("Residual"))
    }
  },
  "intraclass-correlation" = function() {
    suppressPackageStartupMessages(library(psych))
    rows <- matrix(fraction("number"), ncol = settings$assessors, byrow = TRUE)
    function() list(correlation = ICC(rows, lmer = FALSE)$results["Single_random_raters", "ICC"])
  },
  cox = function() {
    suppressPackageStartupMessages(library(survival))
    d <- data.frame(time = fraction("time"), event = whole("event"), x = fraction("x"), patient = whole("group"))
    function() {
      m <- coxph(Surv(time, event) ~ x, data = d, cluster = patient)
      list(effect = unname(coef(m)), logLikelihood = m$loglik[2])
    }
  },
  nothing = function() function() list()
)

set.seed(20261127)
work <- pieces[[piece]]()
start <- proc.time()[["elapsed"]]
numbers <- work()
seconds <- proc.time()[["elapsed"]] - start
digits <- function(x) ifelse(is.na(x), "null", format(x, digits = 17, scientific = TRUE))
pair <- function(name, x) paste0("\"", name, "\":", digits(x))
inside <- paste(mapply(pair, names(numbers), unlist(numbers)), collapse = ",")
cat(sprintf('{"seconds":{"work":%s},"peak":%s,"numbers":{%s}}\n', digits(seconds), digits(most_memory()), inside))
