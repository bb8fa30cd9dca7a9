# Grubbs' and Rosner's tests written out with R's t distribution. Run from the top of the project:
#   Rscript tests/reference/r/outliers.R > tests/reference/data/r_outliers.csv
# Data: uranium isotope (NIST e-Handbook 1.3.5.17.1), Rosner's 54 values (NIST file ROSNER.DAT), and constructed lists.

cat(sprintf("# made by tests/reference/r/outliers.R, %s, package stats only\n", R.version.string))
cat("kind,data,a,b,value\n")
row <- function(kind, data, a, b, value) cat(sprintf("%s,%s,%s,%s,%.17g\n", kind, data, a, b, value))

lists <- list(
  uranium = c(199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57),
  rosner = c(-0.25, 0.68, 0.94, 1.15, 1.20, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56, 1.58, 1.65, 1.69,
    1.70, 1.76, 1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.10, 2.14, 2.15, 2.23, 2.24, 2.26, 2.35, 2.37, 2.40,
    2.47, 2.54, 2.62, 2.64, 2.90, 2.92, 2.92, 2.93, 3.21, 3.26, 3.30, 3.59, 3.68, 4.30, 4.64, 5.34, 5.42, 6.01),
  weak = c(1.42, 1.51, 0.38, 1.47, 1.55, 1.44, 1.49, 1.46, 1.53, 1.40), # constructed
  three = c(2.1, 2.2, 2.9) # constructed
)
for (name in names(lists)) for (x in lists[[name]]) row("value", name, "", "", x)

critical <- function(n, tail) {
  t <- qt(tail, n - 2, lower.tail = FALSE)
  (n - 1) / sqrt(n) * sqrt(t^2 / (n - 2 + t^2))
}
for (name in names(lists)) {
  x <- lists[[name]]
  n <- length(x)
  distance <- c(low = mean(x) - min(x), high = max(x) - mean(x))
  for (side in c("two", "low", "high")) {
    g <- (if (side == "two") max(distance) else distance[[side]]) / sd(x)
    ways <- if (side == "two") 2 * n else n
    t <- sqrt(n * (n - 2) * g^2 / ((n - 1)^2 - n * g^2))
    row("statistic", name, side, "", g)
    row("p_value", name, side, "", min(1, ways * pt(t, n - 2, lower.tail = FALSE)))
    for (alpha in c(0.1, 0.05, 0.01)) row("critical", name, side, alpha, critical(n, alpha / ways))
  }
}

for (name in c("rosner", "weak")) {
  x <- lists[[name]]
  n <- length(x)
  most <- if (name == "rosner") 10 else 4
  flagged <- 0
  for (i in seq_len(most)) {
    far <- which.max(abs(x - mean(x)))
    r <- abs(x[far] - mean(x)) / sd(x)
    limit <- critical(n - i + 1, 0.05 / (2 * (n - i + 1)))
    row("esd statistic", name, i, "", r)
    row("esd critical", name, i, "", limit)
    if (r > limit) flagged <- i
    x <- x[-far]
  }
  row("esd count", name, most, "", flagged)
}

for (name in names(lists)) {
  row("robust", name, "median", "", median(lists[[name]]))
  row("robust", name, "sd", "", mad(lists[[name]], constant = 1 / qnorm(3 / 4)))
}
