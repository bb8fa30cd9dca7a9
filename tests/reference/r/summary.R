# Writes tests/reference/data/r_summary.csv:
#   Rscript tests/reference/r/summary.R      (from the top folder)
# and tests/reference/data/michelson.csv, the velocity of light in air as R carries it (datasets::morley).
# Values: tests/reference/data/univariate.csv, which says where each set comes from, and the NIST set ZARR13.
# Skewness and kurtosis are written out by their definitions (G1 and G2); the rest are R's own functions.
sets <- read.csv("tests/reference/data/univariate.csv", comment.char = "#")
values <- split(sets$value, factor(sets$set, levels = unique(sets$set)))
values$zarr13 <- scan("tests/reference/data/zarr13.csv", comment.char = "#", quiet = TRUE)

out <- c()
put <- function(set, confidence, field, value)
  out[length(out) + 1] <<- sprintf("%s,%s,%s,%.17g", set, confidence, field, value)

for (set in names(values)) {
  x <- values[[set]]
  n <- length(x)
  quartiles <- quantile(x, c(0.25, 0.5, 0.75), type = 7, names = FALSE)
  m <- function(power) mean((x - mean(x))^power)
  put(set, "", "mean", mean(x))
  put(set, "", "sd", sd(x))
  put(set, "", "variance", var(x))
  put(set, "", "sem", sd(x) / sqrt(n))
  if (mean(x) > 0) put(set, "", "cv", sd(x) / mean(x))
  put(set, "", "minimum", min(x))
  put(set, "", "maximum", max(x))
  put(set, "", "range", diff(range(x)))
  put(set, "", "q1", quartiles[1])
  put(set, "", "median", quartiles[2])
  put(set, "", "q3", quartiles[3])
  put(set, "", "mad", mad(x, constant = 1))
  put(set, "", "skewness", m(3) / m(2)^1.5 * sqrt(n * (n - 1)) / (n - 2))
  if (n > 3) put(set, "", "kurtosis", (n - 1) / ((n - 2) * (n - 3)) * ((n + 1) * (m(4) / m(2)^2 - 3) + 6))
  for (confidence in c(0.5, 0.9, 0.95, 0.999)) {
    limits <- t.test(x, conf.level = confidence)$conf.int
    put(set, confidence, "mean_interval.low", limits[1])
    put(set, confidence, "mean_interval.high", limits[2])
    put(set, confidence, "sd_interval.low", sd(x) * sqrt((n - 1) / qchisq((1 - confidence) / 2, n - 1, lower.tail = FALSE)))
    put(set, confidence, "sd_interval.high", sd(x) * sqrt((n - 1) / qchisq((1 - confidence) / 2, n - 1)))
  }
}
writeLines(c(sprintf("# made by tests/reference/r/summary.R, %s, package stats only", R.version.string),
             "set,confidence,field,value", out), "tests/reference/data/r_summary.csv")
writeLines(c(sprintf("# made by tests/reference/r/summary.R, %s, from datasets::morley: Michelson's 100 determinations", R.version.string),
             "# of the velocity of light in air (1879), in 1000 km/s; the NIST StRD set Michelso.",
             sprintf("%.2f", (299000 + morley$Speed) / 1000)), "tests/reference/data/michelson.csv")
