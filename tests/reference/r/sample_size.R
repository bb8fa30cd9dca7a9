# Sample sizes and exact binomial bounds by R's own functions. Run from the top of the project:
#   Rscript tests/reference/r/sample_size.R > tests/reference/data/r_sample_size.csv
# The plans are constructed; nothing but base R (stats) is used.

cat(sprintf("# made by tests/reference/r/sample_size.R, %s, package stats only\n", R.version.string))
cat("kind,a,b,c,d,e,value\n")
row <- function(kind, values, value) {
  values <- c(vapply(values, function(x) format(x, digits = 17), ""), rep("", 5 - length(values)))
  cat(sprintf("%s,%s,%.17g\n", kind, paste(values, collapse = ","), value))
}

# smallest n by trying one after another
fewest <- function(enough, n) {
  while (!enough(n)) n <- n + 1
  n
}

for (reliability in c(0.5, 0.8, 0.9, 0.95, 0.97, 0.99)) for (confidence in c(0.5, 0.9, 0.95, 0.99)) for (f in c(0, 1, 5)) {
  n <- fewest(function(n) pbinom(f, n, 1 - reliability) <= 1 - confidence, f + 1)
  row("zero_failure", c(reliability, confidence, f), n)
  row("zero_failure confidence", c(reliability, confidence, f), pbinom(f, n, 1 - reliability, lower.tail = FALSE))
}

for (plan in list(c(59, 0), c(59, 1), c(20, 3), c(300, 2), c(10, 9), c(100000, 7))) for (confidence in c(0.5, 0.9, 0.95, 0.999)) {
  row("reliability_bound", c(plan, confidence), qbeta(1 - confidence, plan[1] - plan[2], plan[2] + 1))
}

for (d in c(0.25, 0.5, 1, 1.7, 3)) for (alpha in c(0.01, 0.05, 0.1)) for (power in c(0.8, 0.9, 0.95)) for (sides in 1:2) {
  kind <- if (sides == 1) "one.sided" else "two.sided"
  reached <- function(n) power.t.test(n = n, delta = d, sd = 1, sig.level = alpha, alternative = kind, strict = TRUE)$power
  n <- fewest(function(n) reached(n) >= power, 2)
  row("for_two_means", c(d, alpha, power, sides), n)
  row("for_two_means power", c(d, alpha, power, sides), reached(n))
}

# Two one-sided tests: the probability that both reject, integrated over the standard deviation.
both <- function(n, margin, truth, alpha) {
  df <- 2 * n - 2
  t <- qt(alpha, df, lower.tail = FALSE)
  low <- (-margin - truth) * sqrt(n / 2)
  high <- (margin - truth) * sqrt(n / 2)
  inside <- function(s) (pnorm(high - t * s) - pnorm(low + t * s)) * 2 * df * s * dchisq(df * s^2, df)
  most <- (high - low) / (2 * t)
  if (most < 1e-9) return(0)
  integrate(inside, 0, min(most, 1 + 12 / sqrt(df)), rel.tol = 1e-12, subdivisions = 2000L)$value
}
for (margin in c(0.5, 1, 2)) for (share in c(0, 0.25)) for (alpha in c(0.05, 0.1)) for (power in c(0.8, 0.9)) {
  reached <- function(n) both(n, margin, share * margin, alpha)
  n <- fewest(function(n) reached(n) >= power, 2)
  row("for_equivalence", c(margin, share * margin, alpha, power), n)
  row("for_equivalence power", c(margin, share * margin, alpha, power), reached(n))
}

for (width in c(0.1, 0.25, 0.5, 1, 3)) for (confidence in c(0.8, 0.95, 0.99)) {
  half <- function(n) qt((1 - confidence) / 2, n - 1, lower.tail = FALSE) / sqrt(n)
  n <- fewest(function(n) half(n) <= width, 2)
  row("for_mean", c(width, confidence), n)
  row("for_mean half-width", c(width, confidence), half(n))
}

for (coverage in c(0.9, 0.95, 0.99)) for (confidence in c(0.9, 0.95)) for (factor in c(2.5, 3, 4)) {
  if (factor <= qnorm(coverage)) next
  reached <- function(n) pt(factor * sqrt(n), n - 1, ncp = qnorm(coverage) * sqrt(n))
  n <- fewest(function(n) reached(n) >= confidence, 2)
  if (qnorm(coverage) * sqrt(n) > 37) next # R's limit of the noncentrality
  row("for_factor", c(coverage, confidence, factor), n)
}

for (coverage in c(0.5, 0.9, 0.95, 0.99)) for (confidence in c(0.5, 0.9, 0.95, 0.99)) {
  reached <- function(n) pbeta(coverage, n - 1, 2, lower.tail = FALSE)
  n <- fewest(function(n) reached(n) >= confidence, 2)
  row("two_sided_order_statistics", c(coverage, confidence), n)
  row("two_sided_order_statistics confidence", c(coverage, confidence), reached(n))
}
