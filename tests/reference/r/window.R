# Writes tests/reference/data/r_window.csv:
#   Rscript tests/reference/r/window.R      (from the top folder; takes a second)
# Lines and parabolas by lm, with lack of fit and limits of the mean; tolerance bounds from R's non-central t. Data:
# NIST's load cell (tests/reference/data/loadcell.csv), and constructed strengths at five temperatures, printed here.

cell <- read.csv("tests/reference/data/loadcell.csv", comment.char = "#")
bar <- data.frame(
  x = c(120, 120, 120, 126, 126, 133, 133, 133, 133, 139.5, 139.5, 146),
  y = c(1.08, 1.17, 1.11, 1.26, 1.22, 1.41, 1.37, 1.44, 1.35, 1.49, 1.53, 1.51))

rows <- list()
put <- function(name, value) rows[[length(rows) + 1]] <<- sprintf("%s,%.17g", name, as.numeric(value))

for (set in c("cell", "bar")) for (degree in 1:2) {
  data <- get(set)
  fit <- if (degree == 1) lm(y ~ x, data) else lm(y ~ x + I(x^2), data)
  found <- summary(fit)
  for (place in 0:degree) {
    put(paste(set, degree, "coefficients", place, sep = ":"), coef(found)[place + 1, 1])
    put(paste(set, degree, "standard_errors", place, sep = ":"), coef(found)[place + 1, 2])
  }
  put(paste(set, degree, "residual_sd", "", sep = ":"), found$sigma)
  put(paste(set, degree, "r_squared", "", sep = ":"), found$r.squared)
  lack <- anova(fit, lm(y ~ factor(x), data))
  put(paste(set, degree, "f_statistic", "", sep = ":"), lack[2, "F"])
  put(paste(set, degree, "p_value", "", sep = ":"), lack[2, "Pr(>F)"])
  for (x in c(min(data$x), mean(range(data$x)) + 0.375, max(data$x))) {
    mean <- predict(fit, data.frame(x = x), interval = "confidence", level = 0.9, se.fit = TRUE)
    put(paste(set, degree, "fitted", x, sep = ":"), mean$fit[1])
    put(paste(set, degree, "mean_low", x, sep = ":"), mean$fit[2])
    put(paste(set, degree, "mean_high", x, sep = ":"), mean$fit[3])
    share <- mean$se.fit / found$sigma # root of the leverage
    k <- qt(0.9, fit$df.residual, qnorm(0.95) / share) * share
    put(paste(set, degree, "tolerance_factor", x, sep = ":"), k)
  }
}

heading <- sprintf("# made by tests/reference/r/window.R, R version %s.%s", R.version$major, R.version$minor)
writeLines(c(heading, "name,value", unlist(rows)), "tests/reference/data/r_window.csv")
writeLines(c(heading, "# constructed", "x,y", sprintf("%s,%s", bar$x, bar$y)), "tests/reference/data/r_window_bar.csv")
