# Fits every design of a folder by a reference library and writes the values
# beside: for each NAME.json (by, formula, data, restricted) NAME.reference.json.
#
#   Rscript crosscheck.R FOLDER
suppressPackageStartupMessages({ library(lme4); library(nlme); library(jsonlite) })
folder <- commandArgs(TRUE)[1]
by.lme4 <- function(m, d) {
  control <- lmerControl(optimizer = "bobyqa", calc.derivs = FALSE, check.conv.singular = "ignore",
    check.nobs.vs.nRE = "ignore", optCtrl = list(rhoend = 1e-9, maxfun = 1e5))
  fit <- lmer(as.formula(m$formula), d, REML = m$restricted, control = control)
  for (k in 1:2) { # from its own end, and from another start
    at <- getME(fit, "theta")
    start <- if (k == 1) at else replace(at, getME(fit, "lower") == 0, 0.5)
    again <- try(suppressWarnings(update(fit, start = start)), silent = TRUE)
    if (!inherits(again, "try-error") && logLik(again) > logLik(fit)) fit <- again
  }
  list(loglik = as.numeric(logLik(fit)), estimate = unname(fixef(fit)), se = unname(sqrt(diag(as.matrix(vcov(fit))))),
    residual = sigma(fit), singular = isSingular(fit, tol = 1e-3),
    random = subset(as.data.frame(VarCorr(fit)), grp != "Residual", select = -vcov))
}
by.nlme <- function(m, d) {
  control <- lmeControl(maxIter = 500, msMaxIter = 500, tolerance = 1e-9, msTol = 1e-11, msMaxEval = 5000, sigma = m$sigma)
  arguments <- list(fixed = as.formula(m$formula), data = d, random = eval(parse(text = m$random)), control = control,
    method = if (m$restricted) "REML" else "ML")
  if (nzchar(m$correlation)) arguments$correlation <- eval(parse(text = m$correlation))
  if (nzchar(m$weights)) arguments$weights <- eval(parse(text = m$weights))
  fit <- do.call(lme, arguments)
  sd.of <- function(group) sqrt(as.matrix(fit$modelStruct$reStruct[[group]])[1, 1]) * fit$sigma
  out <- list(loglik = as.numeric(logLik(fit)), estimate = unname(fixef(fit)), se = unname(sqrt(diag(fit$varFix))), residual = fit$sigma, singular = FALSE,
    random = data.frame(grp = "book", var1 = "(Intercept)", var2 = NA, sdcor = sd.of("book")))
  if (nzchar(m$correlation)) out$rho <- unname(coef(fit$modelStruct$corStruct, unconstrained = FALSE))
  if (m$sigma > 0) out$residual <- sd.of("row")
  else if (nzchar(m$weights)) out$levels <- as.list(fit$sigma * coef(fit$modelStruct$varStruct, unconstrained = FALSE, allCoef = TRUE))
  out
}
for (file in list.files(folder, "design[0-9]+\\.json$", full.names = TRUE)) {
  m <- fromJSON(file)
  d <- read.csv(file.path(folder, m$data), stringsAsFactors = TRUE)
  for (k in c("book", "quire", "reader")) d[[k]] <- factor(d[[k]])
  d$picture <- factor(d$picture, levels = c("no", "yes"))
  d$row <- factor(seq_len(nrow(d)))
  value <- try(if (m$by == "lme4") by.lme4(m, d) else by.nlme(m, d), silent = TRUE)
  if (inherits(value, "try-error")) value <- list(failed = as.character(value))
  writeLines(toJSON(value, auto_unbox = TRUE, digits = NA, na = "null"), sub("\\.json$", ".reference.json", file))
}
