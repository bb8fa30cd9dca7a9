# Writes tests/reference/data/r_precision.csv, critical values of h, k and Cochran's C by the standard's formulae:
#   Rscript tests/reference/r/precision.R      (from the top folder)
rows <- list()
put <- function(...) rows[[length(rows) + 1]] <<- sprintf("%s,%d,%d,%.17g,%.17g", ...)
for (alpha in c(0.05, 0.01, 0.005, 1e-6)) for (p in c(3L, 4L, 8L, 15L, 30L, 200L)) {
  t <- qt(alpha / 2, p - 2, lower.tail = FALSE)
  put("h", p, 0L, alpha, (p - 1) * t / sqrt(p * (t^2 + p - 2)))
  for (n in c(2L, 3L, 5L, 10L)) {
    f <- qf(alpha, n - 1, (p - 1) * (n - 1), lower.tail = FALSE)
    put("k", p, n, alpha, sqrt(p / (1 + (p - 1) / f)))
    f <- qf(alpha / p, n - 1, (p - 1) * (n - 1), lower.tail = FALSE)
    put("cochran", p, n, alpha, 1 / (1 + (p - 1) / f))
  }
}
heading <- sprintf("# made by tests/reference/r/precision.R, R version %s.%s", R.version$major, R.version$minor)
writeLines(c(heading, "which,p,n,alpha,value", unlist(rows)), "tests/reference/data/r_precision.csv")
