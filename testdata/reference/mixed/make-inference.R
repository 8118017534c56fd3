# Writes reference values of inference on the models whose data and fits
# make-reference.R writes: joint F tests, likelihood-ratio tests, profile
# intervals, conditional modes with their standard deviations, predictions,
# marginal means and R², as inference/*.json.
#
#   Rscript make-inference.R
#
# Needs Debian's r-cran-lme4 r-cran-nlme r-cran-lmertest r-cran-pbkrtest
# r-cran-jsonlite.
suppressPackageStartupMessages({
  library(lme4); library(nlme); library(lmerTest); library(pbkrtest); library(jsonlite)
})
here <- sub("^--file=", "", grep("^--file=", commandArgs(FALSE), value = TRUE))
if (length(here)) setwd(dirname(here))
dir.create("inference", showWarnings = FALSE)
json.out <- function(x, name) writeLines(toJSON(x, auto_unbox = TRUE, digits = NA, pretty = TRUE, na = "null"), paste0("inference/", name, ".json"))
tight <- lmerControl(optimizer = "bobyqa", calc.derivs = FALSE, check.conv.singular = "ignore", optCtrl = list(rhoend = 1e-10, maxfun = 1e5))
fit <- function(formula, data, REML = TRUE) {
  first <- lmerTest::lmer(formula, data, REML = REML, control = tight)
  again <- try(update(first, start = getME(first, "theta")), silent = TRUE)
  if (inherits(again, "try-error") || logLik(again) < logLik(first)) first else again
}

# Profile intervals of the full likelihood, from a profile at fine steps.
profile.values <- function(m, ...) {
  p <- profile(m, signames = FALSE, delta.cutoff = 1 / 16, ...)
  ci <- confint(p, level = 0.95)
  list(names = rownames(ci), low = unname(ci[, 1]), high = unname(ci[, 2]))
}

# Joint tests of contrasts, rows of L.
joint.values <- function(m, L) {
  s <- contest(m, L, joint = TRUE, ddf = "Satterthwaite")
  v <- as.data.frame(KRmodcomp(m, L)$stats)
  kr <- KRmodcomp(m, L)$stats
  list(satterthwaite = list(f = s[["F value"]], num = s[["NumDF"]], df = s[["DenDF"]], p = s[["Pr(>F)"]]),
    kenward.roger = list(f = kr$Fstat, num = kr$ndf, df = kr$ddf, p = kr$p.value))
}

# Conditional modes with standard deviations, sorted by group.
mode.values <- function(m) {
  r <- as.data.frame(ranef(m, condVar = TRUE))
  list(factor = as.character(r$grpvar), term = as.character(r$term), group = as.character(r$grp), value = r$condval, sd = r$condsd)
}

# Marginal and conditional R² by the formulas of Nakagawa and Schielzeth (2013)
# and Johnson (2014): the variance of the fixed part over the rows, the mean of
# the random part's variance z'Gz over the rows, the residual's.
r2.values <- function(m) {
  fixed <- c(getME(m, "X") %*% fixef(m))
  vf <- mean((fixed - mean(fixed))^2)
  Z <- getME(m, "Z"); L <- t(getME(m, "Lambdat")) * sigma(m)
  vr <- mean(Matrix::rowSums((Z %*% L)^2))
  ve <- sigma(m)^2
  list(fixed = vf, random = vr, residual = ve, marginal = vf / (vf + vr + ve), conditional = (vf + vr) / (vf + vr + ve))
}

# Predictions with the standard error of the mean, variance parameters held, by
# dense matrices (Henderson 1975): of the fixed part, and with the modes.
predict.values <- function(m, newdata, newgroups = FALSE) {
  X <- getME(m, "X"); Z <- as.matrix(getME(m, "Z")); L <- as.matrix(t(getME(m, "Lambdat"))); s <- sigma(m)
  W <- cbind(Z %*% L, X)
  q <- ncol(Z); p <- ncol(X)
  C <- solve(crossprod(W) + diag(c(rep(1, q), rep(0, p)))) * s^2
  tt <- delete.response(terms(m, fixed.only = TRUE))
  Xn <- model.matrix(tt, newdata, contrasts.arg = attr(X, "contrasts"))
  out <- list(population = unname(c(Xn %*% fixef(m))), population.se = unname(sqrt(diag(Xn %*% as.matrix(vcov(m)) %*% t(Xn)))))
  if (!newgroups) {
    re <- mkReTrms(findbars(formula(m)), newdata)
    # rows of the new Z in the fitted columns
    Zn <- matrix(0, nrow(newdata), q)
    full <- getME(m, "Ztlist"); at <- 0
    flist <- getME(m, "flist"); cn <- getME(m, "cnms")
    asgn <- attr(flist, "assign")
    for (k in seq_along(cn)) {
      f <- flist[[asgn[k]]]; lev <- levels(f); terms <- cn[[k]]
      g <- if (grepl(":", names(flist)[asgn[k]])) do.call(paste, c(newdata[strsplit(names(flist)[asgn[k]], ":")[[1]]], sep = ":")) else as.character(newdata[[names(flist)[asgn[k]]]])
      for (i in seq_len(nrow(newdata))) for (j in seq_along(terms)) {
        Zn[i, at + (match(g[i], lev) - 1) * length(terms) + j] <- if (terms[j] == "(Intercept)") 1 else newdata[[terms[j]]][i]
      }
      at <- at + length(lev) * length(terms)
    }
    W2 <- cbind(Zn %*% L, Xn)
    out$conditional <- unname(predict(m, newdata))
    out$conditional.se <- unname(sqrt(diag(W2 %*% C %*% t(W2))))
  }
  out
}
contrast.values <- function(m, L) {
  s <- contest(m, L, joint = FALSE, ddf = "Satterthwaite")
  list(estimate = s$Estimate, se = s[["Std. Error"]], df = s$df)
}

sleep.f <- Reaction ~ Days + (Days | Subject)
sleep <- fit(sleep.f, sleepstudy); sleep.ml <- fit(sleep.f, sleepstudy, FALSE)
new <- data.frame(Subject = c("308", "309", "372"), Days = c(0, 4.5, 12))
json.out(list(profile = profile.values(sleep.ml), modes = mode.values(sleep), r2 = r2.values(sleep), predict = predict.values(sleep, new),
  joint = joint.values(sleep, diag(2)),
  ratio = local({ small <- fit(Reaction ~ Days + (1 | Subject), sleepstudy, FALSE); a <- anova(sleep.ml, small); list(chisq = a$Chisq[2], df = a$Df[2], p = a[["Pr(>Chisq)"]][2]) }),
  ratio.fixed = local({ small <- fit(Reaction ~ 1 + (Days | Subject), sleepstudy, FALSE); a <- anova(sleep.ml, small); list(chisq = a$Chisq[2], df = a$Df[2], p = a[["Pr(>Chisq)"]][2]) })), "sleepstudy-correlated")

two.f <- Reaction ~ Days + (1 | Subject) + (0 + Days | Subject)
json.out(list(profile = profile.values(fit(two.f, sleepstudy, FALSE)), r2 = r2.values(fit(two.f, sleepstudy))), "sleepstudy-uncorrelated")

pen <- fit(diameter ~ 1 + (1 | plate) + (1 | sample), Penicillin)
json.out(list(profile = profile.values(fit(diameter ~ 1 + (1 | plate) + (1 | sample), Penicillin, FALSE)), modes = mode.values(pen), r2 = r2.values(pen),
  predict = predict.values(pen, data.frame(plate = c("a", "x"), sample = c("F", "A")))), "Penicillin")

past.f <- strength ~ 1 + (1 | batch:cask) + (1 | batch)
past <- fit(past.f, Pastes)
json.out(list(profile = profile.values(fit(past.f, Pastes, FALSE)), modes = mode.values(past), r2 = r2.values(past)), "Pastes")

oats <- as.data.frame(nlme::Oats); oats$Block <- factor(as.character(oats$Block)); oats$Variety <- factor(as.character(oats$Variety), levels = c("Golden Rain", "Marvellous", "Victory"))
oats.f <- yield ~ nitro * Variety + (1 | Block:Variety) + (1 | Block)
o <- fit(oats.f, oats)
variety <- rbind(c(0, 0, 1, 0, 0, 0), c(0, 0, 0, 1, 0, 0))
product <- rbind(c(0, 0, 0, 0, 1, 0), c(0, 0, 0, 0, 0, 1))
nitro <- mean(oats$nitro)
means <- rbind(c(1, nitro, 0, 0, 0, 0), c(1, nitro, 1, 0, nitro, 0), c(1, nitro, 0, 1, 0, nitro))
json.out(list(joint = joint.values(o, variety), joint.product = joint.values(o, product), means = contrast.values(o, means), r2 = r2.values(o)), "Oats")

cake$temp <- as.numeric(as.character(cake$temp))
cake.f <- angle ~ recipe * factor(temp) + (1 | recipe:replicate)
k <- fit(cake.f, cake)
n <- length(fixef(k)); L <- cbind(matrix(0, 10, n - 10), diag(10))
X <- getME(k, "X")
means <- do.call(rbind, lapply(levels(cake$recipe), function(r) {
  grid <- expand.grid(recipe = factor(r, levels(cake$recipe)), temp = sort(unique(cake$temp)))
  x <- model.matrix(~ recipe * factor(temp), grid, contrasts.arg = attr(X, "contrasts"))
  colMeans(x)
}))
json.out(list(joint = joint.values(k, L), means = contrast.values(k, means), r2 = r2.values(k)), "cake")

ortho <- as.data.frame(nlme::Orthodont); ortho$Subject <- factor(as.character(ortho$Subject)); ortho$Sex <- factor(ortho$Sex, levels = c("Male", "Female"))
ortho.f <- distance ~ age * Sex + (age | Subject)
om <- fit(ortho.f, ortho)
json.out(list(profile = profile.values(fit(ortho.f, ortho, FALSE)), modes = mode.values(om), r2 = r2.values(om),
  joint = joint.values(om, rbind(c(0, 0, 1, 0), c(0, 0, 0, 1)))), "Orthodont")

machines <- as.data.frame(nlme::Machines); machines$Worker <- factor(as.character(machines$Worker))
mm <- fit(score ~ Machine + (1 | Worker:Machine) + (1 | Worker), machines)
# unbalanced: every fifth row left out
short <- machines[-seq(5, nrow(machines), 5), ]
ms <- fit(score ~ Machine + (1 | Worker:Machine) + (1 | Worker), short)
json.out(list(joint = joint.values(mm, rbind(c(0, 1, 0), c(0, 0, 1))), unbalanced = joint.values(ms, rbind(c(0, 1, 0), c(0, 0, 1))), r2 = r2.values(mm)), "Machines")
