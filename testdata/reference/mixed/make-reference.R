# Writes the published datasets of this folder as CSV and, for each model, the
# values of reference libraries at tight tolerance as JSON.
#
#   Rscript make-reference.R            # all but InstEval's fit
#   Rscript make-reference.R InstEval   # that too (about a minute)
#
# Needs Debian's r-cran-lme4 r-cran-nlme r-cran-lmertest r-cran-pbkrtest
# r-cran-mgcv r-cran-mass r-cran-mlmrev r-cran-jsonlite. The packages' versions are written to versions.json.
suppressPackageStartupMessages({
  library(lme4); library(nlme); library(lmerTest); library(pbkrtest); library(jsonlite)
})
here <- sub("^--file=", "", grep("^--file=", commandArgs(FALSE), value = TRUE))
if (length(here)) setwd(dirname(here))
with.insteval <- "InstEval" %in% commandArgs(TRUE)

table.out <- function(data, name) {
  data <- as.data.frame(data)
  for (k in names(data)) if (is.factor(data[[k]])) data[[k]] <- as.character(data[[k]])
  write.csv(format.keep(data), paste0(name, ".csv"), row.names = FALSE, quote = FALSE, na = "")
}
packed.out <- function(data, name) {
  g <- gzfile(paste0(name, ".csv.gz"), "w")
  write.csv(data, g, row.names = FALSE, quote = FALSE)
  close(g)
}
format.keep <- function(data) {
  for (k in names(data)) if (is.double(data[[k]])) data[[k]] <- format(data[[k]], digits = 15, trim = TRUE, scientific = FALSE, drop0trailing = TRUE)
  data
}
json.out <- function(x, name) writeLines(toJSON(x, auto_unbox = TRUE, digits = NA, pretty = TRUE, na = "null"), paste0(name, ".json"))

# One model by lme4, with lmerTest's Satterthwaite and pbkrtest's Kenward-Roger
# degrees of freedom.
tight <- function() lmerControl(optimizer = "bobyqa", calc.derivs = FALSE, check.conv.singular = "ignore",
  optCtrl = list(rhoend = 1e-10, maxfun = 1e5))
polish <- function(formula, data, REML) {
  first <- lmerTest::lmer(formula, data, REML = REML, control = tight())
  # a second, derivative-free pass from the first's end
  again <- try(update(first, start = getME(first, "theta")), silent = TRUE)
  if (inherits(again, "try-error") || logLik(again) < logLik(first)) first else again
}
lme4.values <- function(formula, data, REML, kr = TRUE) {
  fit <- polish(formula, data, REML)
  co <- coef(summary(fit, ddf = "Satterthwaite"))
  vc <- VarCorr(fit)
  out <- list(loglik = as.numeric(logLik(fit)), criterion = -2 * as.numeric(logLik(fit)),
    estimate = unname(co[, "Estimate"]), se = unname(co[, "Std. Error"]), df = unname(co[, "df"]),
    names = rownames(co),
    random = lapply(names(vc), function(g) list(group = g, sd = as.numeric(attr(vc[[g]], "stddev")),
      correlation = unname(attr(vc[[g]], "correlation")))),
    residual = sigma(fit), singular = isSingular(fit, tol = 1e-4))
  if (REML && kr) {
    out$kr.df <- sapply(seq_along(fixef(fit)), function(k) {
      L <- rep(0, length(fixef(fit))); L[k] <- 1
      get_Lb_ddf(fit, L)
    })
    out$kr.se <- unname(sqrt(diag(as.matrix(vcovAdj(fit)))))
  }
  lapply(out, function(v) if (is.atomic(v) && length(v) > 1) v else v)
}
lme4.model <- function(name, data.name, toml, formula, data, kr = TRUE) {
  data <- as.data.frame(data)
  list(name = name, data = paste0(data.name, ".csv"), by = "lme4", formula = deparse1(formula), model = toml,
    restricted = lme4.values(formula, data, TRUE, kr), full = lme4.values(formula, data, FALSE, kr))
}
# One model by nlme.
nlme.values <- function(make, method) {
  fit <- make(method)
  sds <- if (inherits(fit, "lme")) lapply(fit$modelStruct$reStruct, function(m) {
    v <- as.matrix(m) * fit$sigma^2; list(sd = unname(sqrt(diag(v))), correlation = unname(cov2cor(v))) }) else list()
  out <- list(loglik = as.numeric(logLik(fit)), criterion = -2 * as.numeric(logLik(fit)),
    estimate = unname(if (inherits(fit, "lme")) fixef(fit) else coef(fit)), residual = fit$sigma,
    names = names(if (inherits(fit, "lme")) fixef(fit) else coef(fit)),
    # nlme scales the covariance by n/(n-p) under full likelihood; undone here
    se = unname(sqrt(diag(if (inherits(fit, "lme")) fit$varFix else fit$varBeta))),
    random = unname(rev(sds)))
  cs <- fit$modelStruct$corStruct
  if (!is.null(cs)) out$rho <- unname(coef(cs, unconstrained = FALSE))
  vs <- fit$modelStruct$varStruct
  if (inherits(vs, "varIdent")) {
    ratios <- coef(vs, unconstrained = FALSE, allCoef = TRUE)
    out$levels <- as.list(fit$sigma * ratios)
    out$residual <- NULL
  }
  out
}
nlme.model <- function(name, data.name, toml, call, make) list(name = name, data = paste0(data.name, ".csv"), by = "nlme",
  formula = call, model = toml, restricted = nlme.values(make, "REML"), full = nlme.values(make, "ML"))

control <- lmeControl(maxIter = 500, msMaxIter = 500, tolerance = 1e-10, msTol = 1e-12, msMaxEval = 5000, opt = "nlminb")
models <- list()
add <- function(m) models[[length(models) + 1]] <<- m

# --- sleepstudy: Belenky et al. (2003)
table.out(sleepstudy, "sleepstudy")
add(lme4.model("sleepstudy, intercept and slope correlated", "sleepstudy",
'outcome = "Reaction"
fixed = ["Days"]
[[random]]
by = "Subject"
terms = ["intercept", "Days"]
correlated = true
', Reaction ~ Days + (Days | Subject), sleepstudy))
add(lme4.model("sleepstudy, intercept and slope uncorrelated", "sleepstudy",
'outcome = "Reaction"
fixed = ["Days"]
[[random]]
by = "Subject"
terms = ["intercept", "Days"]
', Reaction ~ Days + (1 | Subject) + (0 + Days | Subject), sleepstudy))
# --- Dyestuff, Dyestuff2: Davies and Goldsmith (1972); Box and Tiao (1973)
for (d in c("Dyestuff", "Dyestuff2")) {
  table.out(get(d), d)
  add(lme4.model(d, d, 'outcome = "Yield"
fixed = []
[[random]]
by = "Batch"
terms = ["intercept"]
', Yield ~ 1 + (1 | Batch), get(d), kr = d == "Dyestuff"))
}
# --- Penicillin, Pastes: Davies and Goldsmith (1972)
table.out(Penicillin, "Penicillin")
add(lme4.model("Penicillin, crossed", "Penicillin", 'outcome = "diameter"
fixed = []
[[random]]
by = "plate"
terms = ["intercept"]
[[random]]
by = "sample"
terms = ["intercept"]
', diameter ~ 1 + (1 | plate) + (1 | sample), Penicillin))
table.out(Pastes, "Pastes")
add(lme4.model("Pastes, casks within batches", "Pastes", 'outcome = "strength"
fixed = []
[[random]]
by = ["batch", "cask"]
terms = ["intercept"]
[[random]]
by = "batch"
terms = ["intercept"]
', strength ~ 1 + (1 | batch:cask) + (1 | batch), Pastes))
# --- cake: Cook (1938), in Cochran and Cox (1957)
table.out(cake[c("replicate", "recipe", "temp", "angle")], "cake")
add(lme4.model("cake, temperatures as levels", "cake", 'outcome = "angle"
fixed = ["recipe", "temp", ["recipe", "temp"]]
[levels]
recipe = ["A", "B", "C"]
temp = ["175", "185", "195", "205", "215", "225"]
[[random]]
by = ["recipe", "replicate"]
terms = ["intercept"]
', angle ~ recipe * factor(temp) + (1 | recipe:replicate), cake))
add(lme4.model("cake, temperature as a number", "cake", 'outcome = "angle"
fixed = ["recipe", "temp", ["recipe", "temp"]]
[levels]
recipe = ["A", "B", "C"]
[[random]]
by = ["recipe", "replicate"]
terms = ["intercept"]
', angle ~ recipe * temp + (1 | recipe:replicate), cake))
# --- Orthodont: Potthoff and Roy (1964)
ortho <- as.data.frame(nlme::Orthodont)
ortho$Subject <- as.character(ortho$Subject)
ortho$Sex <- factor(ortho$Sex, levels = c("Male", "Female"))
table.out(ortho, "Orthodont")
add(lme4.model("Orthodont, growth by sex", "Orthodont", 'outcome = "distance"
fixed = ["age", "Sex", ["age", "Sex"]]
[levels]
Sex = ["Male", "Female"]
[[random]]
by = "Subject"
terms = ["intercept", "age"]
correlated = true
', distance ~ age * Sex + (age | Subject), ortho))
add(nlme.model("Orthodont, another spread for each sex", "Orthodont", 'outcome = "distance"
fixed = ["age", "Sex", ["age", "Sex"]]
[levels]
Sex = ["Male", "Female"]
[[random]]
by = "Subject"
terms = ["intercept"]
[residual]
levels = "Sex"
', "lme(distance ~ age * Sex, random = ~ 1 | Subject, weights = varIdent(form = ~ 1 | Sex))",
function(method) lme(distance ~ age * Sex, ortho, ~ 1 | Subject, weights = varIdent(form = ~ 1 | Sex), method = method, control = control)))
# --- Oats: Yates (1935)
oats <- as.data.frame(nlme::Oats)
oats$Block <- as.character(oats$Block)
table.out(oats, "Oats")
add(lme4.model("Oats, split plot", "Oats", 'outcome = "yield"
fixed = ["nitro", "Variety", ["nitro", "Variety"]]
[levels]
Variety = ["Golden Rain", "Marvellous", "Victory"]
[[random]]
by = ["Block", "Variety"]
terms = ["intercept"]
[[random]]
by = "Block"
terms = ["intercept"]
', yield ~ nitro * Variety + (1 | Block:Variety) + (1 | Block), oats))
# --- Machines: Milliken and Johnson (1992)
machines <- as.data.frame(nlme::Machines)
machines$Worker <- as.character(machines$Worker)
table.out(machines, "Machines")
add(lme4.model("Machines, machines within workers", "Machines", 'outcome = "score"
fixed = ["Machine"]
[levels]
Machine = ["A", "B", "C"]
[[random]]
by = ["Worker", "Machine"]
terms = ["intercept"]
[[random]]
by = "Worker"
terms = ["intercept"]
', score ~ Machine + (1 | Worker:Machine) + (1 | Worker), machines))
add(lme4.model("Machines, machine varies between workers", "Machines", 'outcome = "score"
fixed = ["Machine"]
[levels]
Machine = ["A", "B", "C"]
[[random]]
by = "Worker"
terms = ["intercept", "Machine"]
correlated = true
', score ~ Machine + (Machine | Worker), machines))
# --- Oxide: Littell et al. (1996); three levels
oxide <- as.data.frame(nlme::Oxide)
for (k in c("Lot", "Wafer", "Source", "Site")) oxide[[k]] <- as.character(oxide[[k]])
table.out(oxide, "Oxide")
add(lme4.model("Oxide, wafers within lots", "Oxide", 'outcome = "Thickness"
fixed = ["Source"]
[levels]
Source = ["1", "2"]
[[random]]
by = ["Lot", "Wafer"]
terms = ["intercept"]
[[random]]
by = "Lot"
terms = ["intercept"]
', Thickness ~ Source + (1 | Lot:Wafer) + (1 | Lot), oxide))
# --- Chem97: Yang, Fielding and Goldstein (2002); pupils in schools in authorities
chem <- mlmRev::Chem97[c("lea", "school", "gender", "gcsescore", "score")]
packed.out(chem, "Chem97")
add(lme4.model("Chem97, schools within authorities", "Chem97", 'outcome = "score"
fixed = ["gender", "gcsescore"]
[levels]
gender = ["M", "F"]
[[random]]
by = ["lea", "school"]
terms = ["intercept"]
[[random]]
by = "lea"
terms = ["intercept"]
', score ~ gender + gcsescore + (1 | lea:school) + (1 | lea), chem, kr = FALSE))
# --- Ovary: Pierson and Ginther (1987)
ovary <- as.data.frame(nlme::Ovary)
ovary$Mare <- as.character(ovary$Mare)
ovary$sine <- sin(2 * pi * ovary$Time); ovary$cosine <- cos(2 * pi * ovary$Time)
table.out(ovary, "Ovary")
add(nlme.model("Ovary, autoregression along the cycle", "Ovary", 'outcome = "follicles"
fixed = ["sine", "cosine"]
[[random]]
by = "Mare"
terms = ["intercept"]
[residual]
along = "Time"
within = "Mare"
', "lme(follicles ~ sine + cosine, random = ~ 1 | Mare, correlation = corCAR1(form = ~ Time | Mare))",
function(method) lme(follicles ~ sine + cosine, ovary, ~ 1 | Mare, correlation = corCAR1(0.02, form = ~ Time | Mare), method = method, control = control)))
add(nlme.model("Ovary, sine varies between mares, autoregression", "Ovary", 'outcome = "follicles"
fixed = ["sine", "cosine"]
[[random]]
by = "Mare"
terms = ["intercept", "sine"]
[residual]
along = "Time"
within = "Mare"
', "lme(follicles ~ sine + cosine, random = list(Mare = pdDiag(~ sine)), correlation = corCAR1(form = ~ Time | Mare))",
function(method) lme(follicles ~ sine + cosine, ovary, list(Mare = pdDiag(~ sine)), correlation = corCAR1(0.02, form = ~ Time | Mare), method = method, control = control)))
# --- Orthodont again, with an invented but fixed measuring error a row: a
# random intercept a row stands for the estimated residual, sigma fixed at 1.
ortho.se <- ortho
ortho.se$se <- round(0.3 + 0.15 * ((seq_len(nrow(ortho)) * 7) %% 11), 2)
table.out(ortho.se, "Orthodont-se")
ortho.se$v <- ortho.se$se^2
ortho.se$row <- factor(seq_len(nrow(ortho.se)))
dense.restricted <- function(data) {
  X <- model.matrix(~ age * Sex, data)
  same <- outer(data$Subject, data$Subject, "==") * 1
  parts <- function(sd) {
    V <- sd[1]^2 * same + diag(sd[2]^2 + data$v)
    Vi <- solve(V)
    C <- solve(t(X) %*% Vi %*% X)
    b <- C %*% t(X) %*% Vi %*% data$distance
    e <- data$distance - X %*% b
    criterion <- c(determinant(V)$modulus) - c(determinant(C)$modulus) + sum(e * (Vi %*% e)) + (nrow(X) - ncol(X)) * log(2 * pi)
    list(criterion = criterion, b = b, C = C)
  }
  at <- nlm(function(sd) parts(sd)$criterion, c(1.5, 1), gradtol = 1e-9, steptol = 1e-10, iterlim = 1000)$estimate
  p <- parts(at)
  list(loglik = -p$criterion / 2, criterion = p$criterion, estimate = unname(p$b[, 1]), residual = abs(at[2]), names = colnames(X),
    se = unname(sqrt(diag(p$C))), random = list(list(sd = abs(at[1]), correlation = matrix(1))))
}
known <- function(method) {
  fit <- lme(distance ~ age * Sex, ortho.se, list(Subject = ~ 1, row = ~ 1), weights = varFixed(~ v), method = method,
    control = lmeControl(sigma = 1, maxIter = 500, msMaxIter = 500, tolerance = 1e-10, msTol = 1e-12, msMaxEval = 5000))
  fit
}
add(local({
  m <- nlme.model("Orthodont, known measuring error", "Orthodont-se", 'outcome = "distance"
fixed = ["age", "Sex", ["age", "Sex"]]
[levels]
Sex = ["Male", "Female"]
[[random]]
by = "Subject"
terms = ["intercept"]
[residual]
known_sd = "se"
', "lme(distance ~ age * Sex, random = list(Subject = ~ 1, row = ~ 1), weights = varFixed(~ se^2), sigma = 1)", known)
  m$full$residual <- m$full$random[[2]]$sd
  m$full$random <- m$full$random[1]
  # nlme's restricted likelihood with sigma held is not the restricted
  # likelihood of this model (its estimates are not at its maximum), so that one
  # is written out and maximised here with dense matrices.
  m$restricted <- dense.restricted(ortho.se)
  m
}))
# --- mcycle: Silverman (1985); a penalised spline, by mgcv with the same basis
mcycle <- as.data.frame(MASS::mcycle)
table.out(mcycle, "mcycle")
curve.values <- function(method) { # REML: mgcv's ML is another criterion than the full likelihood
  bends <- 18
  pieces <- bends - 1
  step <- diff(range(mcycle$times)) / pieces
  knots <- list(times = min(mcycle$times) + step * (-3:(pieces + 3)))
  fit <- mgcv::gam(accel ~ s(times, bs = "ps", k = bends + 2, m = c(2, 2)), data = mcycle, method = method, knots = knots,
    control = mgcv::gam.control(epsilon = 1e-12, newton = list(conv.tol = 1e-10)))
  at <- seq(5, 55, by = 2.5)
  p <- predict(fit, data.frame(times = at), se.fit = TRUE)
  list(edf = sum(fit$edf) - 2, residual = sqrt(fit$sig2), at = at, fit = unname(c(p$fit)) - mean(fit$fitted.values), mean = mean(fit$fitted.values))
}
json.out(list(name = "mcycle, a curve along time", data = "mcycle.csv", by = "mgcv", formula = "gam(accel ~ s(times, bs = \"ps\", k = 20, m = c(2, 2)))",
  model = 'outcome = "accel"
fixed = []
[[smooth]]
column = "times"
bends = 18
', restricted = curve.values("REML")), "curve-mcycle")
# --- InstEval: ETH Zurich lecture ratings, in lme4
if (with.insteval) {
  add(lme4.model("InstEval, three crossed terms", "InstEval", 'outcome = "y"
fixed = ["service"]
[levels]
service = ["0", "1"]
[[random]]
by = "s"
terms = ["intercept"]
[[random]]
by = "d"
terms = ["intercept"]
[[random]]
by = "dept"
terms = ["intercept"]
', y ~ service + (1 | s) + (1 | d) + (1 | dept), InstEval, kr = FALSE))
  packed.out(InstEval[c("s", "d", "dept", "service", "y")], "InstEval")
}
for (m in models) json.out(m, gsub("[^A-Za-z0-9]+", "-", m$name))
json.out(c(list(R = R.version.string), sapply(c("lme4", "nlme", "lmerTest", "pbkrtest", "mgcv", "MASS", "mlmRev"), function(p) as.character(packageVersion(p)))), "versions")
