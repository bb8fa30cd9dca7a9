# Chance that a bound clears its limit, and the ratio of a standard deviation's upper bound, over a range of sizes:
#   Rscript tests/reference/r/bound_size.R > tests/reference/data/r_bound_size.csv
cat(sprintf("# made by tests/reference/r/bound_size.R, %s\n", R.version.string))
cat("kind,away,coverage,confidence,wanted,n,achieved\n")
chance <- function(n, away, coverage, confidence) {
  k <- qt(confidence, n - 1, ncp = qnorm(coverage) * sqrt(n)) / sqrt(n)
  pt(k * sqrt(n), n - 1, ncp = away * sqrt(n), lower.tail = FALSE)
}
plans <- rbind(c(3, .95, .95, .9), c(2.5, .95, .95, .8), c(4, .99, .95, .9), c(2.2, .9, .9, .95), c(6, .95, .95, .99))
for (row in seq_len(nrow(plans))) {
  p <- plans[row, ]
  n <- 2
  while (chance(n, p[1], p[2], p[3]) < p[4]) n <- n + 1
  cat(sprintf("bound,%g,%g,%g,%g,%d,%.15g\n", p[1], p[2], p[3], p[4], n, chance(n, p[1], p[2], p[3])))
}
for (p in list(c(1.3, .95), c(1.5, .9), c(1.2, .95), c(2, .99))) {
  df <- 1
  while (sqrt(df / qchisq(1 - p[2], df)) > p[1]) df <- df + 1
  cat(sprintf("sd,,,%g,%g,%d,%.15g\n", p[2], p[1], df, sqrt(df / qchisq(1 - p[2], df))))
}
