# Fits random designs by reference libraries: reads FOLDER/designs.json, writes
# FOLDER/fits.json. Grades by ordinal, yes or no and counts by glmmTMB, whose
# Laplace approximations have the exact Hessian.
#
#   Rscript crosscheck.R FOLDER
suppressPackageStartupMessages({ library(ordinal); library(glmmTMB); library(jsonlite) })
folder <- commandArgs(TRUE)[1]
designs <- fromJSON(file.path(folder, "designs.json"), simplifyVector = FALSE)
one <- function(d) {
  data <- read.csv(file.path(folder, d$file), colClasses = unlist(d$classes))
  for (k in names(data)) if (is.character(data[[k]])) data[[k]] <- factor(data[[k]])
  formula <- as.formula(d$formula)
  if (d$kind == "grades") {
    data$y <- factor(data$y, ordered = TRUE)
    # compiled code, for one term of one column, has the complementary log-log under
    # the other name
    link <- if (d$link == "cloglog" && d$compiled) "loglog" else d$link
    fit <- clmm(formula, data = data, link = link, threshold = d$thresholds, control = clmm.control(gradTol = 1e-8, maxIter = 500, innerCtrl = "noWarn"))
    return(list(loglik = as.numeric(logLik(fit)), estimate = I(unname(fit$beta)), thresholds = I(unname(c(fit$Theta)))))
  }
  family <- switch(d$kind, "yes or no" = binomial(d$link), counts = if (d$negative) nbinom2 else poisson)
  fit <- glmmTMB(formula, data, family, ziformula = as.formula(d$zero), control = glmmTMBControl(optCtrl = list(iter.max = 1e4, eval.max = 1e4, rel.tol = 1e-14)))
  at <- fit$fit$par
  for (k in 1:2) at <- at - c(solve(optimHess(at, fit$obj$fn, fit$obj$gr), c(fit$obj$gr(at))))
  v <- sqrt(diag(solve(optimHess(at, fit$obj$fn, fit$obj$gr))))
  list(loglik = -as.numeric(fit$obj$fn(at)), estimate = I(unname(at[names(at) == "beta"])), se = I(unname(v[names(at) == "beta"])))
}
fits <- lapply(designs, function(d) tryCatch(suppressWarnings(one(d)), error = function(e) list(error = conditionMessage(e))))
writeLines(toJSON(fits, auto_unbox = TRUE, digits = NA, na = "null"), file.path(folder, "fits.json"))
