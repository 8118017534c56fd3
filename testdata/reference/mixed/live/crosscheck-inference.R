# Fits every design of a folder by lmerTest and writes its Satterthwaite and
# Kenward-Roger inference beside: for each NAME.json (formula, data)
# NAME.inference.json.
#
#   Rscript crosscheck-inference.R FOLDER
suppressPackageStartupMessages({ library(lme4); library(lmerTest); library(pbkrtest); library(jsonlite) })
folder <- commandArgs(TRUE)[1]
control <- lmerControl(optimizer = "bobyqa", calc.derivs = FALSE, check.conv.singular = "ignore", check.nobs.vs.nRE = "ignore",
  optCtrl = list(rhoend = 1e-10, maxfun = 1e5))
values <- function(m, d) {
  fit <- lmerTest::lmer(as.formula(m$formula), d, REML = TRUE, control = control)
  again <- try(suppressWarnings(update(fit, start = getME(fit, "theta"))), silent = TRUE)
  if (!inherits(again, "try-error") && logLik(again) > logLik(fit)) fit <- again
  p <- length(fixef(fit))
  rest <- cbind(0, diag(p - 1))
  s <- contest(fit, rest, joint = TRUE, ddf = "Satterthwaite")
  k <- KRmodcomp(fit, rest)$stats
  list(loglik = as.numeric(logLik(fit)), singular = isSingular(fit, tol = 1e-3),
    df = unname(coef(summary(fit, ddf = "Satterthwaite"))[, "df"]),
    kr.df = sapply(seq_len(p), function(j) { L <- rep(0, p); L[j] <- 1; get_Lb_ddf(fit, L) }),
    kr.se = unname(sqrt(diag(as.matrix(vcovAdj(fit))))),
    joint = list(satterthwaite = list(f = s[["F value"]], num = s[["NumDF"]], df = s[["DenDF"]], p = s[["Pr(>F)"]]),
      kenward.roger = list(f = k$Fstat, num = k$ndf, df = k$ddf, p = k$p.value)))
}
for (file in list.files(folder, "design[0-9]+\\.json$", full.names = TRUE)) {
  m <- fromJSON(file)
  d <- read.csv(file.path(folder, m$data), stringsAsFactors = TRUE)
  for (k in c("book", "quire", "reader")) d[[k]] <- factor(d[[k]])
  d$picture <- factor(d$picture, levels = c("no", "yes"))
  value <- try(values(m, d), silent = TRUE)
  if (inherits(value, "try-error")) value <- list(failed = as.character(value))
  writeLines(toJSON(value, auto_unbox = TRUE, digits = NA, na = "null"), sub("\\.json$", ".inference.json", file))
}
