# Writes tests/reference/data/r_uncertainty.csv, two-sided quantiles of Student's t:
#   Rscript tests/reference/r/uncertainty.R      (from the top folder)
rows <- list()
for (coverage in c(0.6827, 0.9, 0.95, 0.9545, 0.99, 0.9973)) for (df in c(1, 2, 3.5, 5, 9.25, 16.7, 30, 100.5, 1e4, Inf))
  rows[[length(rows) + 1]] <- sprintf("%.17g,%s,%.17g", coverage, format(df), qt((1 + coverage) / 2, df))
heading <- sprintf("# made by tests/reference/r/uncertainty.R, R version %s.%s", R.version$major, R.version$minor)
writeLines(c(heading, "coverage,df,factor", unlist(rows)), "tests/reference/data/r_uncertainty.csv")
