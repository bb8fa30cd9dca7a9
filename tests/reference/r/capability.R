# Capability indices, their intervals and bounds with R's own distributions. Run from the top of the project:
#   Rscript tests/reference/r/capability.R > tests/reference/data/r_capability.csv
# The values and the subgroups are constructed.

cat(sprintf("# made by tests/reference/r/capability.R, %s, package stats only\n", R.version.string))
cat("kind,a,b,c,value\n")
row <- function(kind, a, b, c, value) cat(sprintf("%s,%s,%s,%s,%.17g\n", kind, a, b, c, value))

x <- c(1.42, 1.51, 1.38, 1.47, 1.55, 1.44, 1.49, 1.46, 1.53, 1.40, 1.50, 1.45, 1.36, 1.58, 1.48)
group <- factor(rep(1:5, each = 3))
for (i in seq_along(x)) row("value", group[i], "", "", x[i])
low <- 1.2
high <- 1.7
n <- length(x)
within <- summary(aov(x ~ group))[[1]]
sw <- sqrt(within[["Mean Sq"]][2])
df <- within[["Df"]][2]
index <- function(kind, s, d) {
  p <- (high - low) / (6 * s)
  pk <- min(high - mean(x), mean(x) - low) / (3 * s)
  row("index", kind, "", "", p)
  row("index", paste0(kind, "k"), "", "", pk)
  for (confidence in c(0.9, 0.95)) {
    tail <- (1 - confidence) / 2
    row("interval", kind, confidence, "low", p * sqrt(qchisq(tail, d) / d))
    row("interval", kind, confidence, "high", p * sqrt(qchisq(tail, d, lower.tail = FALSE) / d))
    half <- qnorm(tail, lower.tail = FALSE) * sqrt(1 / (9 * n) + pk^2 / (2 * d))
    row("interval", paste0(kind, "k"), confidence, "low", pk - half)
    row("interval", paste0(kind, "k"), confidence, "high", pk + half)
  }
}
index("pp", sd(x), n - 1)
index("cp", sw, df)

# Exact one-sided bounds: the noncentrality at which pt is the confidence; R computes it up to 37.6.
bound <- function(index, n, confidence) {
  t <- 3 * index * sqrt(n)
  at <- function(shift) pt(t, n - 1, ncp = shift) - confidence
  uniroot(at, c(t - 30, min(37.6, t + 30)), tol = 1e-14)$root / (3 * sqrt(n))
}
for (confidence in c(0.5, 0.9, 0.95, 0.99)) {
  for (side in c("lower", "upper")) {
    one <- (if (side == "lower") mean(x) - low else high - mean(x)) / (3 * sd(x))
    row("one-sided", side, confidence, "index", one)
    row("one-sided", side, confidence, "bound", bound(one, n, confidence))
    row("one-sided", side, confidence, "fraction", pnorm(-3 * one))
    row("one-sided", side, confidence, "fraction bound", pnorm(-3 * bound(one, n, confidence)))
  }
  for (plan in list(c(1, 10), c(1.33, 20), c(0.5, 50), c(0.8, 100), c(-0.1, 6))) {
    row("bound", plan[1], plan[2], confidence, bound(plan[1], plan[2], confidence))
  }
}
