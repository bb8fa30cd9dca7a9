# Writes tests/reference/data/r_comparisons.csv and r_comparisons_groups.csv:
#   Rscript tests/reference/r/comparisons.R      (from the top folder; takes a second)
# The groups are constructed: strengths such as a peel test might give, with unequal numbers and spreads, untied.
suppressPackageStartupMessages(library(multcomp))

groups <- list(
  low = c(1.312, 1.364, 1.287, 1.401, 1.338, 1.253, 1.379, 1.326),
  nominal = c(1.472, 1.455, 1.503, 1.438, 1.491, 1.467, 1.482, 1.449, 1.515, 1.461),
  high = c(1.544, 1.423, 1.618, 1.497, 1.379, 1.572, 1.651, 1.458, 1.529),
  over = c(1.207, 1.466, 1.332, 1.588, 1.124, 1.413)
)
equal <- lapply(groups, head, 6)

rows <- list()
put <- function(name, value) rows[[length(rows) + 1]] <<- sprintf("%s,%.17g", name, as.numeric(value))
long <- function(groups) data.frame(
  name = factor(rep(names(groups), lengths(groups)), levels = names(groups)), value = unlist(groups, use.names = FALSE))

# --- Two groups
for (pair in list(c("nominal", "low"), c("high", "over"), c("nominal", "over"))) {
  a <- groups[[pair[1]]]; b <- groups[[pair[2]]]; tag <- paste(pair, collapse = "-")
  for (confidence in c(0.9, 0.95, 0.99)) {
    found <- t.test(a, b, conf.level = confidence)
    put(paste0("welch:", tag, ":low", confidence), found$conf.int[1])
    put(paste0("welch:", tag, ":high", confidence), found$conf.int[2])
    spread <- var.test(a, b, conf.level = confidence)
    put(paste0("variance_ratio:", tag, ":low", confidence), spread$conf.int[1])
    put(paste0("variance_ratio:", tag, ":high", confidence), spread$conf.int[2])
  }
  put(paste0("welch:", tag, ":difference"), mean(a) - mean(b))
  put(paste0("welch:", tag, ":standard_error"), found$stderr)
  put(paste0("welch:", tag, ":statistic"), found$statistic)
  put(paste0("welch:", tag, ":df"), found$parameter)
  put(paste0("welch:", tag, ":p_value"), found$p.value)
  put(paste0("variance_ratio:", tag, ":ratio"), spread$statistic)
  put(paste0("variance_ratio:", tag, ":p_value"), spread$p.value)
  ranks <- wilcox.test(a, b, exact = TRUE)
  put(paste0("rank_sum:", tag, ":statistic"), ranks$statistic)
  put(paste0("rank_sum:", tag, ":p_value"), ranks$p.value)
  tied <- wilcox.test(round(a, 1), round(b, 1), exact = FALSE)
  put(paste0("rank_sum_tied:", tag, ":statistic"), tied$statistic)
  put(paste0("rank_sum_tied:", tag, ":p_value"), tied$p.value)

  # Two one-sided tests of the difference, limits -0.2 and 0.2
  for (equal_spread in c(FALSE, TRUE)) {
    tag2 <- paste0("equivalence", if (equal_spread) "_pooled" else "", ":", tag)
    above <- t.test(a, b, mu = -0.2, alternative = "greater", var.equal = equal_spread)
    below <- t.test(a, b, mu = 0.2, alternative = "less", var.equal = equal_spread)
    put(paste0(tag2, ":p_low"), above$p.value)
    put(paste0(tag2, ":p_high"), below$p.value)
    put(paste0(tag2, ":statistic_low"), above$statistic)
    put(paste0(tag2, ":statistic_high"), below$statistic)
    both <- t.test(a, b, conf.level = 0.9, var.equal = equal_spread)
    put(paste0(tag2, ":low"), both$conf.int[1])
    put(paste0(tag2, ":high"), both$conf.int[2])
  }

  # Ratio of means, limits 0.8 and 1.25: contrasts with the pooled variance, and Fieller's quadratic by polyroot
  na <- length(a); nb <- length(b); df <- na + nb - 2
  s2 <- ((na - 1) * var(a) + (nb - 1) * var(b)) / df
  contrast <- function(limit) (mean(a) - limit * mean(b)) / sqrt(s2 * (1 / na + limit^2 / nb))
  put(paste0("equivalence_ratio:", tag, ":statistic_low"), contrast(0.8))
  put(paste0("equivalence_ratio:", tag, ":statistic_high"), contrast(1.25))
  put(paste0("equivalence_ratio:", tag, ":p_low"), pt(contrast(0.8), df, lower.tail = FALSE))
  put(paste0("equivalence_ratio:", tag, ":p_high"), pt(contrast(1.25), df))
  t2 <- qt(0.95, df)^2 * s2
  ends <- sort(Re(polyroot(c(mean(a)^2 - t2 / na, -2 * mean(a) * mean(b), mean(b)^2 - t2 / nb))))
  put(paste0("equivalence_ratio:", tag, ":low"), ends[1])
  put(paste0("equivalence_ratio:", tag, ":high"), ends[2])
}

# --- Many groups
for (set in c("groups", "equal")) {
  data <- long(get(set))
  table <- anova(lm(value ~ name, data))
  put(paste0("one_way:", set, ":ss_between"), table[1, 2])
  put(paste0("one_way:", set, ":ss_within"), table[2, 2])
  put(paste0("one_way:", set, ":f_statistic"), table[1, 4])
  put(paste0("one_way:", set, ":p_value"), table[1, 5])
  put(paste0("one_way:", set, ":residual_sd"), summary(lm(value ~ name, data))$sigma)
  put(paste0("one_way:", set, ":r_squared"), summary(lm(value ~ name, data))$r.squared)
  data$deviation <- abs(data$value - ave(data$value, data$name, FUN = median))
  levene <- anova(lm(deviation ~ name, data))
  put(paste0("brown_forsythe:", set, ":statistic"), levene[1, 4])
  put(paste0("brown_forsythe:", set, ":p_value"), levene[1, 5])
  found <- bartlett.test(value ~ name, data)
  put(paste0("bartlett:", set, ":statistic"), found$statistic)
  put(paste0("bartlett:", set, ":p_value"), found$p.value)

  tukey <- TukeyHSD(aov(value ~ name, data))$name # second less first
  for (pair in rownames(tukey)) {
    put(paste0("tukey:", set, ":", pair, ":difference"), tukey[pair, "diff"])
    put(paste0("tukey:", set, ":", pair, ":p_value"), tukey[pair, "p adj"])
    put(paste0("tukey:", set, ":", pair, ":half"), (tukey[pair, "upr"] - tukey[pair, "lwr"]) / 2)
  }

  # Games and Howell, by hand
  k <- nlevels(data$name)
  for (one in 1:(k - 1)) for (two in (one + 1):k) {
    a <- get(set)[[one]]; b <- get(set)[[two]]
    welch <- t.test(a, b)
    tag <- paste0("games_howell:", set, ":", names(get(set))[one], "-", names(get(set))[two])
    put(paste0(tag, ":statistic"), abs(welch$statistic) * sqrt(2))
    put(paste0(tag, ":p_value"), ptukey(abs(welch$statistic) * sqrt(2), k, welch$parameter, lower.tail = FALSE))
    put(paste0(tag, ":half"), qtukey(0.95, k, welch$parameter) * welch$stderr / sqrt(2))
  }

  # Dunnett by multcomp, which integrates at random: few digits
  set.seed(20240917)
  data$name <- relevel(data$name, "nominal")
  fit <- glht(aov(value ~ name, data), linfct = mcp(name = "Dunnett"))
  test <- summary(fit)$test
  limits <- confint(fit)$confint
  for (place in seq_along(test$coefficients)) {
    tag <- paste0("dunnett:", set, ":", sub(" - nominal", "", names(test$coefficients)[place]))
    put(paste0(tag, ":statistic"), test$tstat[place])
    put(paste0(tag, ":p_value"), test$pvalues[place])
    put(paste0(tag, ":half"), (limits[place, "upr"] - limits[place, "lwr"]) / 2)
  }
}

heading <- sprintf("# made by tests/reference/r/comparisons.R, R version %s.%s, multcomp %s, mvtnorm %s",
  R.version$major, R.version$minor, packageVersion("multcomp"), packageVersion("mvtnorm"))
writeLines(c(heading, "name,value", unlist(rows)), "tests/reference/data/r_comparisons.csv")
data <- long(groups)
writeLines(c(heading, "# constructed", "group,value", sprintf("%s,%.3f", data$name, data$value)),
  "tests/reference/data/r_comparisons_groups.csv")
