# Writes tests/reference/data/r_components.csv:
#   Rscript tests/reference/r/components.R      (from the top folder; takes some seconds)
# The studies are those of tests/reference/data/gauge_studies.csv, which says where each comes from.
suppressPackageStartupMessages(library(lme4))

studies <- read.csv("tests/reference/data/gauge_studies.csv", comment.char = "#",
                    colClasses = c("character", "character", "character", "numeric"))
rows <- list()
put <- function(name, value) rows[[length(rows) + 1]] <<- sprintf("%s,%.17g", name, as.numeric(value))

# Tighter than the defaults, so that the estimates carry more digits.
tight <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhobeg = 0.02, rhoend = 1e-11, maxfun = 100000),
                     check.conv.singular = "ignore", check.conv.grad = "ignore", check.conv.hess = "ignore")
reml <- function(name, formula, data) {
  fit <- suppressMessages(lmer(formula, data, REML = TRUE, control = tight))
  found <- as.data.frame(VarCorr(fit))
  for (i in seq_len(nrow(found))) put(paste("reml", name, found$grp[i], sep = "/"), found$vcov[i])
  put(paste("reml", name, "deviance", sep = "/"), REMLcrit(fit))
}
table_of <- function(name, found, sources) {  # rows of an R table of the analysis of variance
  for (i in seq_along(sources)) {
    put(paste("table", name, sources[i], "df", sep = "/"), found[["Df"]][i])
    put(paste("table", name, sources[i], "ss", sep = "/"), found[["Sum Sq"]][i])
  }
}
tail_of <- function(name, source, ratio, df, divisor) {
  put(paste("table", name, source, "F", sep = "/"), ratio)
  put(paste("table", name, source, "p", sep = "/"), pf(ratio, df, divisor, lower.tail = FALSE))
}

for (name in c("aiag", "aiag_missing", "constructed", "constructed_missing", "many_operators")) {
  data <- studies[studies$study == name, ]
  reml(paste0(name, "/full"), value ~ 1 + (1 | part) + (1 | operator) + (1 | operator:part), data)
  reml(paste0(name, "/pooled"), value ~ 1 + (1 | part) + (1 | operator), data)
  main <- lm(value ~ part + operator, data)
  full <- lm(value ~ part * operator, data)
  adjusted <- drop1(main)  # each main effect adjusted for the other
  found <- anova(main, full)
  put(paste("table", name, "part/ss", sep = "/"), adjusted["part", "Sum of Sq"])
  put(paste("table", name, "operator/ss", sep = "/"), adjusted["operator", "Sum of Sq"])
  put(paste("table", name, "interaction/ss", sep = "/"), found[2, "Sum of Sq"])
  put(paste("table", name, "interaction/df", sep = "/"), found[2, "Df"])
  put(paste("table", name, "repeatability/ss", sep = "/"), found[2, "RSS"])
  put(paste("table", name, "repeatability/df", sep = "/"), found[2, "Res.Df"])
  put(paste("table", name, "total/ss", sep = "/"), sum((data$value - mean(data$value))^2))
  tail_of(name, "interaction", found[2, "F"], found[2, "Df"], found[2, "Res.Df"])
}
for (name in c("aiag", "constructed")) {  # balanced: random effects are tested against the interaction
  found <- anova(lm(value ~ part * operator, studies[studies$study == name, ]))
  squares <- found[["Mean Sq"]]
  for (i in 1:2) tail_of(name, c("part", "operator")[i], squares[i] / squares[3], found[["Df"]][i], found[["Df"]][3])
}

for (name in c("spindles", "spindles_missing", "handbook", "lots")) {
  data <- studies[studies$study == name, ]
  reml(paste0(name, "/nested"), value ~ 1 + (1 | operator) + (1 | operator:part), data)
  found <- anova(lm(value ~ operator / part, data))
  table_of(name, found, c("operator", "part", "repeatability"))
  squares <- found[["Mean Sq"]]
  tail_of(name, "part", squares[2] / squares[3], found[["Df"]][2], found[["Df"]][3])
  if (name %in% c("spindles", "handbook"))
    tail_of(name, "operator", squares[1] / squares[2], found[["Df"]][1], found[["Df"]][2])
}

# One-way: parts of the study "lots", whoever pulled them.
data <- studies[studies$study == "lots", ]
data$group <- paste(data$operator, data$part)
found <- anova(lm(value ~ group, data))
table_of("one_way", found, c("between", "within"))
tail_of("one_way", "between", found[["F value"]][1], found[["Df"]][1], found[["Df"]][2])
size <- table(data$group)
n0 <- (sum(size) - sum(size^2) / sum(size)) / (length(size) - 1)
put("table/one_way/n0", n0)
put("table/one_way/between", (found[["Mean Sq"]][1] - found[["Mean Sq"]][2]) / n0)
put("table/one_way/within_low", found[["Sum Sq"]][2] / qchisq(0.975, found[["Df"]][2]))
put("table/one_way/within_high", found[["Sum Sq"]][2] / qchisq(0.025, found[["Df"]][2]))

heading <- sprintf("# made by tests/reference/r/components.R, R version %s.%s, lme4 %s",
                   R.version$major, R.version$minor, packageVersion("lme4"))
writeLines(c(heading, "name,value", unlist(rows)), "tests/reference/data/r_components.csv")
