# Writes tests/reference/data/r_normality.csv, Anderson-Darling by nortest and Shapiro-Wilk by R:
#   Rscript tests/reference/r/normality.R      (from the top folder)
# Values: tests/reference/data/univariate.csv, which says where each set comes from, and the NIST set ZARR13.
suppressPackageStartupMessages(library(nortest))
sets <- read.csv("tests/reference/data/univariate.csv", comment.char = "#")
values <- split(sets$value, factor(sets$set, levels = unique(sets$set)))
values$zarr13 <- scan("tests/reference/data/zarr13.csv", comment.char = "#", quiet = TRUE)

out <- c()
put <- function(set, test, found)
  out[length(out) + 1] <<- sprintf("%s,%s,%.17g,%.17g", set, test, found$statistic, found$p.value)

for (set in names(values)) {
  x <- values[[set]]
  if (length(x) >= 8) put(set, "anderson_darling", ad.test(x))
  put(set, "shapiro_wilk", shapiro.test(x))
}
writeLines(c(sprintf("# made by tests/reference/r/normality.R, %s, nortest %s", R.version.string, packageVersion("nortest")),
             "set,test,statistic,p_value", out), "tests/reference/data/r_normality.csv")
