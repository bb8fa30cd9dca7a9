# Constants, limits and averages of control charts, written out in R. Run from the top of the project:
#   Rscript tests/reference/r/control.R > tests/reference/data/r_control.csv
# Values: the examples of NIST e-Handbook 6.3.2.2 and 6.3.2.4 (from memory), and constructed subgroups.

cat(sprintf("# made by tests/reference/r/control.R, %s, package stats only\n", R.version.string))
cat("kind,a,b,value\n")
row <- function(kind, a, b, value) cat(sprintf("%s,%s,%s,%.17g\n", kind, a, b, value))

c4 <- function(n) sqrt(2 / (n - 1)) * exp(lgamma(n / 2) - lgamma((n - 1) / 2))
for (n in c(2:25, 50, 100)) {
  at <- function(x) 1 - pnorm(x)^n - pnorm(-x)^n
  d2 <- 2 * integrate(at, 0, 12, rel.tol = 1e-13)$value # the integrand is even
  row("constants", n, "c4", c4(n))
  row("constants", n, "d2", d2)
  row("constants", n, "A2", 3 / (d2 * sqrt(n)))
  row("constants", n, "A3", 3 / (c4(n) * sqrt(n)))
  row("constants", n, "B3", max(0, 1 - 3 / c4(n) * sqrt(1 - c4(n)^2)))
  row("constants", n, "B4", 1 + 3 / c4(n) * sqrt(1 - c4(n)^2))
}

flow <- c(49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)
for (x in flow) row("flow", "", "", x)
mr <- mean(abs(diff(flow)))
row("individuals", "centre", "", mean(flow))
row("individuals", "mr_bar", "", mr)
row("individuals", "upper", "", mean(flow) + 3 * mr * sqrt(pi) / 2) # d2 of two is 2 / sqrt(pi)
row("individuals", "lower", "", mean(flow) - 3 * mr * sqrt(pi) / 2)

drift <- c(52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4,
  53.6, 52.1)
for (x in drift) row("drift", "", "", x)
average <- stats::filter(0.3 * drift, 0.7, method = "recursive", init = 50)
for (i in seq_along(drift)) {
  half <- 3 * 2.0539 * sqrt(0.3 / 1.7 * (1 - 0.7^(2 * i)))
  row("ewma", i, "value", average[i])
  row("ewma", i, "lower", 50 - half)
  row("ewma", i, "upper", 50 + half)
}

groups <- matrix(c(1.42, 1.51, 1.38, 1.47, 1.55, 1.44, 1.49, 1.46, 1.53, 1.40, 1.50, 1.45, 1.36, 1.58, 1.48, 1.61, 1.43,
  1.39, 1.52, 1.47), nrow = 5)
for (j in 1:4) for (i in 1:5) row("group", j, "", groups[i, j])
s <- mean(apply(groups, 2, sd))
row("mean_and_sd", "centre", "", mean(groups))
row("mean_and_sd", "lower", "", mean(groups) - 3 * s / (c4(5) * sqrt(5)))
row("mean_and_sd", "upper", "", mean(groups) + 3 * s / (c4(5) * sqrt(5)))
row("mean_and_sd", "sd_centre", "", s)
row("mean_and_sd", "sd_lower", "", max(0, s * (1 - 3 / c4(5) * sqrt(1 - c4(5)^2))))
row("mean_and_sd", "sd_upper", "", s * (1 + 3 / c4(5) * sqrt(1 - c4(5)^2)))
