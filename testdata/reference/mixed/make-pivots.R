# Writes reference values of the bootstrap-t: outcomes drawn from a fit, the model
# fitted to each, and the quantiles over them of (estimate - fitted) / standard
# error, by lme4's bootMer, as inference/pivots.json. The data and the models are
# those of make-reference.R.
#
#   Rscript make-pivots.R
#
# Needs Debian's r-cran-lme4 r-cran-jsonlite.
suppressPackageStartupMessages({ library(lme4); library(jsonlite) })
here <- sub("^--file=", "", grep("^--file=", commandArgs(FALSE), value = TRUE))
if (length(here)) setwd(dirname(here))
outcomes <- 4999
shares <- c(0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95, 0.975, 0.99)
quiet <- lmerControl(check.conv.singular = "ignore", check.conv.grad = "ignore", check.conv.hess = "ignore")
pivots <- function(name, model, data, formula, r.term, term, prepare = identity) {
  fit <- lmer(formula, prepare(read.csv(data)), control = quiet)
  centre <- fixef(fit)[[r.term]]
  pivot <- function(m) (fixef(m)[[r.term]] - centre) / sqrt(vcov(m)[r.term, r.term])
  drawn <- bootMer(fit, pivot, nsim = outcomes, seed = 2026)$t[, 1]
  stopifnot(!anyNA(drawn))
  list(name = name, model = model, data = data, term = term, outcomes = outcomes,
    shares = shares, quantiles = unname(quantile(drawn, shares, type = 6)))
}
strings <- function(...) function(d) { for (n in c(...)) d[[n]] <- factor(d[[n]]); d }
all <- list(
  pivots("casks within few batches", 'outcome = "strength"\nfixed = []\n[[random]]\nby = "batch"\nterms = ["intercept"]\n[[random]]\nby = ["batch", "cask"]\nterms = ["intercept"]\n',
    "Pastes.csv", strength ~ 1 + (1 | batch) + (1 | batch:cask), "(Intercept)", "intercept", strings("batch", "cask")),
  pivots("six samples crossed with plates", 'outcome = "diameter"\nfixed = []\n[[random]]\nby = "plate"\nterms = ["intercept"]\n[[random]]\nby = "sample"\nterms = ["intercept"]\n',
    "Penicillin.csv", diameter ~ 1 + (1 | plate) + (1 | sample), "(Intercept)", "intercept"),
  pivots("girls and boys, unequal in number", 'outcome = "distance"\nfixed = ["age", "Sex"]\n[[random]]\nby = "Subject"\nterms = ["intercept", "age"]\ncorrelated = true\n',
    "Orthodont.csv", distance ~ age + Sex + (age | Subject), "SexFemale", "Sex=Female", function(d) { d$Sex <- factor(d$Sex, c("Male", "Female")); d }))
writeLines(toJSON(all, auto_unbox = TRUE, digits = NA, pretty = TRUE), "inference/pivots.json")
