# The Nile's flow at Aswan, 1871 to 1970, as R's datasets carry it, and the pooled t of the two sides of every place:
# tests/reference/data/r_shift.csv. Run: Rscript tests/reference/r/shift.R > tests/reference/data/r_shift.csv
flow <- as.numeric(Nile)
cat(sprintf("# made by tests/reference/r/shift.R, %s\n", R.version.string))
cat("year,flow,t\n")
for (place in seq_along(flow)) {
  t <- ""
  if (place >= 3 && place <= length(flow) - 3) {
    found <- t.test(flow[1:place], flow[(place + 1):length(flow)], var.equal = TRUE)
    t <- sprintf("%.17g", abs(found$statistic))
  }
  cat(sprintf("%d,%g,%s\n", 1870 + place, flow[place], t))
}
