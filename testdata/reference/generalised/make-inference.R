# Writes reference values of inference on cbpp (lme4) and grouseticks (lme4) as
# inference.json: profile intervals, joint Wald tests, likelihood ratios, predictions of
# rows left out, and shares of variance.
#
#   Rscript make-inference.R
#
# Needs Debian's r-cran-lme4 r-cran-car r-cran-jsonlite.
suppressPackageStartupMessages({ library(lme4); library(car); library(jsonlite) })
here <- sub("^--file=", "", grep("^--file=", commandArgs(FALSE), value = TRUE))
if (length(here)) setwd(dirname(here))
tight <- glmerControl(optimizer = "bobyqa", tolPwrss = 1e-10, optCtrl = list(rhoend = 1e-9, maxfun = 1e5))

# Shares of variance by the formulas of Nakagawa, Johnson and Schielzeth (2017):
# residual is the variance of the link's distribution.
shares <- function(m, residual) {
  fixed <- c(getME(m, "X") %*% fixef(m))
  vf <- mean((fixed - mean(fixed))^2)
  Z <- getME(m, "Z"); L <- t(getME(m, "Lambdat"))
  vr <- mean(Matrix::rowSums((Z %*% L)^2))
  list(fixed = vf, random = vr, residual = residual, marginal = vf / (vf + vr + residual), conditional = (vf + vr) / (vf + vr + residual))
}
profile.values <- function(m) {
  ci <- confint(profile(m, signames = FALSE, delta.cutoff = 1 / 16), level = 0.95)
  list(names = rownames(ci), low = unname(ci[, 1]), high = unname(ci[, 2]))
}
joint <- function(m, term) { a <- Anova(m, type = 3); list(chisq = a[term, "Chisq"], df = a[term, "Df"], p = a[term, "Pr(>Chisq)"]) }

cb <- transform(read.csv("cbpp.csv"), period = factor(period), herd = factor(herd))
m <- glmer(cbind(incidence, size - incidence) ~ period + (1 | herd), cb, binomial, control = tight)
without <- glmer(cbind(incidence, size - incidence) ~ 1 + (1 | herd), cb, binomial, control = tight)
gap <- c(4, 8) # rows whose incidence is taken out
less <- glmer(cbind(incidence, size - incidence) ~ period + (1 | herd), cb[-gap, ], binomial, control = tight)
of.cbpp <- list(period = joint(m, "period"), ratio = as.numeric(2 * (logLik(m) - logLik(without))), shares = shares(m, pi^2 / 3),
  rows = gap, predicted = unname(predict(less, cb[gap, ], type = "response")))
of.cbpp$profile <- profile.values(m) # last: it moves the parameters in m
gt <- transform(read.csv("grouseticks.csv"), YEAR = factor(YEAR), BROOD = factor(BROOD), LOCATION = factor(LOCATION))
g <- glmer(TICKS ~ YEAR + height + (1 | BROOD) + (1 | LOCATION), transform(gt, height = (height - mean(height)) / 50), poisson, control = tight)
writeLines(toJSON(list(
  versions = list(R = as.character(getRversion()), lme4 = as.character(packageVersion("lme4")), car = as.character(packageVersion("car"))),
  cbpp = of.cbpp,
  grouseticks = list(year = joint(g, "YEAR"), shares = shares(g, log1p(1 / mean(gt$TICKS))))),
  auto_unbox = TRUE, digits = NA, pretty = TRUE, na = "null"), "inference.json")
