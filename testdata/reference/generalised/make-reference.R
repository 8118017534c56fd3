# Writes published data of grades, of yes or no and of counts as CSV and, for each
# model, the values of reference libraries at tight tolerance as fits.json.
#
#   Rscript make-reference.R            # minutes
#   Rscript make-reference.R "^wine"    # only the models whose names match
#
# Needs Debian's r-cran-lme4 r-cran-ordinal r-cran-glmmtmb r-cran-mlmrev
# r-cran-mass r-cran-jsonlite. The packages' versions stand in versions.json.
#
# Laplace's approximation by glmmTMB has the exact Hessian for every link; lme4's
# has the expected one, which is the same for canonical links only.
suppressPackageStartupMessages({
  library(lme4); library(ordinal); library(glmmTMB); library(jsonlite)
})
here <- sub("^--file=", "", grep("^--file=", commandArgs(FALSE), value = TRUE))
if (length(here)) setwd(dirname(here))

table.out <- function(data, name, packed = FALSE) {
  data <- as.data.frame(data)
  for (k in names(data)) {
    if (is.factor(data[[k]])) data[[k]] <- as.character(data[[k]])
    if (is.double(data[[k]])) data[[k]] <- format(data[[k]], digits = 15, trim = TRUE, scientific = FALSE, drop0trailing = TRUE)
  }
  if (packed) { file <- gzfile(paste0(name, ".csv.gz"), "w"); on.exit(close(file)) } else file <- paste0(name, ".csv")
  write.csv(data, file, row.names = FALSE, quote = FALSE, na = "")
}

# A model file of ours: keys as text, levels of the columns named from the data.
quoted <- function(x) paste0('"', x, '"')
listed <- function(x) if (length(x) == 1) quoted(x) else paste0("[", paste(quoted(x), collapse = ", "), "]")
model <- function(data, outcome, kind, fixed, random = list(), keys = character(), levels = character()) {
  terms <- vapply(fixed, function(t) listed(t), "")
  out <- c(sprintf('outcome = "%s"', outcome), sprintf('kind = "%s"', kind), keys, sprintf("fixed = [%s]", paste(terms, collapse = ", ")))
  if (length(levels)) out <- c(out, "[levels]", vapply(levels, function(l) {
    values <- data[[l]]
    paste0(l, " = [", paste(quoted(if (is.factor(values)) levels(values) else sort(unique(values))), collapse = ", "), "]") }, ""))
  for (r in random) out <- c(out, "[[random]]", paste0("by = ", listed(r$by)), paste0("terms = [", paste(quoted(r$terms), collapse = ", "), "]"), if (isTRUE(r$correlated)) "correlated = true")
  paste0(paste(out, collapse = "\n"), "\n")
}
by <- function(by, terms = "intercept", correlated = FALSE) list(by = by, terms = terms, correlated = correlated)

spreads <- function(vc) lapply(names(vc), function(g) { v <- as.matrix(vc[[g]]); list(group = g, sd = unname(sqrt(diag(v))), correlation = unname(if (nrow(v) > 1) cov2cor(v) else v * 0 + 1)) })
by.lme4 <- function(formula, data, family, points = 1) {
  tight <- glmerControl(optimizer = "bobyqa", calc.derivs = TRUE, tolPwrss = 1e-13, check.conv.singular = "ignore", check.conv.grad = "ignore", check.conv.hess = "ignore", optCtrl = list(rhoend = 1e-11, maxfun = 1e6))
  fit <- glmer(formula, data, family, control = tight, nAGQ = points)
  again <- try(update(fit, start = list(theta = getME(fit, "theta"), fixef = fixef(fit))), silent = TRUE)
  if (!inherits(again, "try-error") && logLik(again) > logLik(fit)) fit <- again
  co <- coef(summary(fit))
  # with more points than one the log likelihood is told beside that of the
  # saturated model
  y <- fit@resp$y; w <- fit@resp$weights
  saturated <- if (points == 1) 0 else if (fit@resp$family$family == "poisson") sum(dpois(y, y, log = TRUE)) else sum(dbinom(round(y * w), w, y, log = TRUE))
  list(library = "lme4", loglik = as.numeric(logLik(fit)) + saturated, names = rownames(co), estimate = unname(co[, 1]), se = unname(co[, 2]), random = spreads(VarCorr(fit)))
}
by.glmmTMB <- function(formula, data, family, zi = ~0, points = 1) {
  tight <- glmmTMBControl(optCtrl = list(iter.max = 1e4, eval.max = 1e4, rel.tol = 1e-15, x.tol = 1e-12))
  fit <- glmmTMB(formula, data, family, ziformula = zi, control = tight)
  # Newton steps from there: the optimiser ends a little short
  obj <- fit$obj; at <- fit$fit$par
  for (k in 1:3) at <- at - c(solve(optimHess(at, obj$fn, obj$gr, control = list(ndeps = rep(1e-4, length(at)))), c(obj$gr(at))))
  hessian <- optimHess(at, obj$fn, obj$gr, control = list(ndeps = rep(1e-4, length(at))))
  fit$fit$par <- at; fit$obj$fn(at); fit$obj$gr(at)
  fit$fit$parfull <- fit$obj$env$last.par
  report <- fit$obj$report(fit$obj$env$last.par)
  v <- solve(hessian); b <- names(at) == "beta"; z <- names(at) == "betazi"
  random <- lapply(seq_along(report$corr), function(k) list(group = names(fit$modelInfo$reTrms$cond$flist)[k], sd = c(report$sd[[k]]), correlation = unname(as.matrix(report$corr[[k]]))))
  out <- list(library = "glmmTMB", loglik = -as.numeric(fit$obj$fn(at)), names = names(fixef(fit)$cond), estimate = unname(at[b]), se = unname(sqrt(diag(v)[b])), random = random)
  if (any(z)) out$zero <- list(names = names(fixef(fit)$zi), estimate = unname(at[z]), se = unname(sqrt(diag(v)[z])))
  if (any(names(at) == "betad")) { d <- which(names(at) == "betad"); out$dispersion <- unname(exp(at[d])) }
  out
}
by.ordinal <- function(formula, data, link = "logit", threshold = "flexible", points = 1, nominal = NULL) {
  mixed <- length(findbars(formula)) > 0
  with.tolerance <- function(tolerance) clmm(formula, data = data, link = link, threshold = threshold, nAGQ = points, control = clmm.control(gradTol = tolerance, maxIter = 500, innerCtrl = "noWarn"), Hess = TRUE)
  fit <- if (mixed) with.tolerance(1e-8)
    else if (is.null(nominal)) clm(formula, data = data, link = link, threshold = threshold, control = clm.control(gradTol = 1e-10)) else clm(formula, nominal = nominal, data = data, link = link, threshold = threshold, control = clm.control(gradTol = 1e-10))
  # its Hessian by differences comes out well with a looser search for the modes only
  v <- vcov(if (mixed) with.tolerance(1e-6) else fit)
  a <- if (is.null(nominal)) fit$alpha else fit$coefficients[seq_along(fit$alpha)]
  b <- fit$beta
  out <- list(library = "ordinal", loglik = as.numeric(logLik(fit)), names = names(b), estimate = unname(b), se = unname(sqrt(diag(v))[length(a) + seq_along(b)]),
    alpha = list(names = names(a), estimate = unname(a), se = unname(sqrt(diag(v))[seq_along(a)])))
  if (is.null(nominal)) out$thresholds <- unname(c(fit$Theta))
  if (mixed) out$random <- spreads(VarCorr(fit))
  out
}

# Only models whose names match an argument are fitted anew, where there is one.
only <- commandArgs(TRUE)
kept <- if (length(only)) fromJSON("fits.json", simplifyVector = FALSE)
all <- list()
add <- function(name, data, model, approximation, ...) {
  if (length(only) && !grepl(only, name)) {
    all <<- c(all, Filter(function(m) m$name == name, kept))
    return(invisible())
  }
  message(name)
  fits <- list(...)
  all[[length(all) + 1]] <<- list(name = name, data = data, model = model, approximation = approximation, fits = fits)
}

# --- cbpp: Lesnoff and others (2004); incidence of a disease of cattle in herds
data(cbpp, package = "lme4")
table.out(cbpp, "cbpp")
herd <- list(by("herd"))
of <- function(keys = character()) model(cbpp, "incidence", "yes or no", "period", herd, c('trials = "size"', keys), "period")
f <- cbind(incidence, size - incidence) ~ period + (1 | herd)
add("cbpp", "cbpp.csv", of(), "Laplace", by.lme4(f, cbpp, binomial), by.glmmTMB(f, cbpp, binomial))
for (q in c(9, 25)) add(paste("cbpp,", q, "points"), "cbpp.csv", of(paste("points =", q)), "quadrature", by.lme4(f, cbpp, binomial, q))
add("cbpp, probit", "cbpp.csv", of('link = "probit"'), "Laplace", by.glmmTMB(f, cbpp, binomial("probit")))
add("cbpp, complementary log-log", "cbpp.csv", of('link = "complementary log-log"'), "Laplace", by.glmmTMB(f, cbpp, binomial("cloglog")))

# --- bacteria: Venables and Ripley (2002, section 10.4), from MASS
bacteria <- MASS::bacteria
bacteria$late <- factor(ifelse(bacteria$week > 2, "yes", "no"))
table.out(bacteria, "bacteria")
of <- function(keys = character()) model(bacteria, "y", "yes or no", list("trt", "late"), list(by("ID")), keys, c("y", "trt", "late"))
f <- y ~ trt + late + (1 | ID)
add("bacteria", "bacteria.csv", of(), "Laplace", by.lme4(f, bacteria, binomial), by.glmmTMB(f, bacteria, binomial))
add("bacteria, 15 points", "bacteria.csv", of("points = 15"), "quadrature", by.lme4(f, bacteria, binomial, 15))

# --- VerbAgg: Vansteelandt (2000); De Boeck and Wilson (2004)
data(VerbAgg, package = "lme4")
VerbAgg$resp <- factor(VerbAgg$resp, levels = c("no", "perhaps", "yes"), ordered = TRUE)
table.out(VerbAgg[, c("Anger", "Gender", "item", "resp", "id", "btype", "situ", "mode", "r2")], "VerbAgg", TRUE)
crossed <- list(by("id"), by("item"))
f <- r2 ~ Anger + Gender + btype + situ + (1 | id) + (1 | item)
add("VerbAgg, yes or no, two crossed terms", "VerbAgg.csv.gz", model(VerbAgg, "r2", "yes or no", list("Anger", "Gender", "btype", "situ"), crossed, character(), c("r2", "Gender", "btype", "situ")), "Laplace",
  by.lme4(f, VerbAgg, binomial), by.glmmTMB(f, VerbAgg, binomial))
f <- resp ~ Anger + Gender + btype + situ + (1 | id) + (1 | item)
add("VerbAgg, three grades, two crossed terms", "VerbAgg.csv.gz", model(VerbAgg, "resp", "grades", list("Anger", "Gender", "btype", "situ"), crossed, character(), c("resp", "Gender", "btype", "situ")), "Laplace",
  by.ordinal(f, VerbAgg))

# --- Contraception: Huq and Cleland (1990), from mlmRev
data(Contraception, package = "mlmRev")
Contraception$age2 <- Contraception$age^2 / 100
table.out(Contraception[, c("district", "use", "livch", "age", "age2", "urban")], "Contraception", TRUE)
fixed <- list("age", "age2", "urban", "livch")
add("Contraception", "Contraception.csv.gz", model(Contraception, "use", "yes or no", fixed, list(by("district")), character(), c("use", "urban", "livch")), "Laplace",
  by.lme4(use ~ age + age2 + urban + livch + (1 | district), Contraception, binomial), by.glmmTMB(use ~ age + age2 + urban + livch + (1 | district), Contraception, binomial))
f <- use ~ age + age2 + urban + livch + (urban | district)
add("Contraception, intercept and slope correlated", "Contraception.csv.gz", model(Contraception, "use", "yes or no", fixed, list(by("district", c("intercept", "urban"), TRUE)), character(), c("use", "urban", "livch")), "Laplace",
  by.lme4(f, Contraception, binomial), by.glmmTMB(f, Contraception, binomial))

# --- grouseticks: Elston and others (2001)
data(grouseticks, package = "lme4")
grouseticks$height <- (grouseticks$HEIGHT - mean(grouseticks$HEIGHT)) / 100
table.out(grouseticks[, c("INDEX", "TICKS", "BROOD", "LOCATION", "YEAR", "height")], "grouseticks")
f <- TICKS ~ YEAR + height + (1 | BROOD) + (1 | INDEX) + (1 | LOCATION)
add("grouseticks, three terms", "grouseticks.csv", model(grouseticks, "TICKS", "counts", list("YEAR", "height"), list(by("BROOD"), by("INDEX"), by("LOCATION")), character(), "YEAR"), "Laplace",
  by.lme4(f, grouseticks, poisson), by.glmmTMB(f, grouseticks, poisson))

# --- epil: Thall and Vail (1990), from MASS
epil <- MASS::epil
epil$lbase <- log(epil$base / 4) - mean(log(epil$base / 4)); epil$lage <- log(epil$age) - mean(log(epil$age))
epil$subject <- paste0("s", epil$subject); epil$trt <- factor(epil$trt, c("placebo", "progabide"))
table.out(epil[, c("y", "trt", "V4", "subject", "lbase", "lage")], "epil")
fixed <- list("lbase", "trt", "lage", "V4", c("lbase", "trt"))
of <- function(keys = character()) model(epil, "y", "counts", fixed, list(by("subject")), keys, "trt")
f <- y ~ lbase + trt + lage + V4 + lbase:trt + (1 | subject)
add("epil", "epil.csv", of(), "Laplace", by.lme4(f, epil, poisson), by.glmmTMB(f, epil, poisson))
add("epil, 11 points", "epil.csv", of("points = 11"), "quadrature", by.lme4(f, epil, poisson, 11))
add("epil, negative binomial", "epil.csv", of('spread = "negative binomial"'), "Laplace", by.glmmTMB(f, epil, nbinom2))

# --- Salamanders: Price and others (2016), from glmmTMB
data(Salamanders, package = "glmmTMB")
Salamanders$spp <- factor(gsub("-", "", Salamanders$spp))
table.out(Salamanders[, c("site", "mined", "count", "spp")], "Salamanders")
of <- function(keys) model(Salamanders, "count", "counts", list("mined", "spp"), list(by("site")), keys, c("mined", "spp"))
f <- count ~ mined + spp + (1 | site)
add("Salamanders, negative binomial", "Salamanders.csv", of('spread = "negative binomial"'), "Laplace", by.glmmTMB(f, Salamanders, nbinom2))
add("Salamanders, Poisson with zero inflation", "Salamanders.csv", of('zero_inflation = true'), "Laplace", by.glmmTMB(f, Salamanders, poisson, ~1))
add("Salamanders, Poisson, zero inflation by mining", "Salamanders.csv", of('zero_inflation = ["mined"]'), "Laplace", by.glmmTMB(f, Salamanders, poisson, ~mined))

# --- Owls: Roulin and Bersier (2007); Zuur and others (2009), from glmmTMB
data(Owls, package = "glmmTMB")
Owls$calls <- Owls$SiblingNegotiation
Owls$food <- factor(tolower(Owls$FoodTreatment)); Owls$parent <- factor(tolower(Owls$SexParent))
table.out(Owls[, c("Nest", "food", "parent", "ArrivalTime", "calls", "BroodSize")], "Owls")
fixed <- list("food", "parent", c("food", "parent"))
of <- function(keys = character()) model(Owls, "calls", "counts", fixed, list(by("Nest")), c('exposure = "BroodSize"', keys), c("food", "parent"))
f <- calls ~ food + parent + food:parent + offset(log(BroodSize)) + (1 | Nest)
add("Owls, exposure", "Owls.csv", of(), "Laplace", by.lme4(f, Owls, poisson), by.glmmTMB(f, Owls, poisson))
add("Owls, negative binomial with zero inflation", "Owls.csv", of(c('spread = "negative binomial"', "zero_inflation = true")), "Laplace", by.glmmTMB(f, Owls, nbinom2, ~1))

# --- wine: Randall (1989), from ordinal
data(wine, package = "ordinal")
wine$judge <- paste0("j", wine$judge); wine$bottle <- paste0("b", wine$bottle)
table.out(wine[, c("rating", "temp", "contact", "bottle", "judge")], "wine")
of <- function(random = list(by("judge")), keys = character(), fixed = list("temp", "contact")) model(wine, "rating", "grades", fixed, random, keys, c("rating", "temp", "contact"))
f <- rating ~ temp + contact + (1 | judge)
add("wine", "wine.csv", of(), "Laplace", by.ordinal(f, wine))
# In this version clmm's compiled code takes "loglog" for the complementary log-log
# link and the other way round; its code in R (useMatrix) and clm do not.
for (link in list(c("probit", "probit"), c("complementary log-log", "loglog")))
  add(paste("wine,", link[1]), "wine.csv", of(keys = sprintf('link = "%s"', link[1])), "Laplace", by.ordinal(f, wine, link[2]))
for (t in list(c("symmetric", "symmetric"), c("equal", "equidistant")))
  add(paste("wine, thresholds", t[1]), "wine.csv", of(keys = sprintf('thresholds = "%s"', t[1])), "Laplace", by.ordinal(f, wine, threshold = t[2]))
add("wine, 10 points", "wine.csv", of(keys = "points = 10"), "quadrature", by.ordinal(f, wine, points = 10))
add("wine, two crossed terms", "wine.csv", of(list(by("judge"), by("bottle"))), "Laplace", by.ordinal(rating ~ temp + contact + (1 | judge) + (1 | bottle), wine))
add("wine, contact varies between judges", "wine.csv", of(list(by("judge", c("intercept", "temp"), TRUE))), "Laplace", by.ordinal(rating ~ temp + contact + (1 + temp | judge), wine))
add("wine, no random term", "wine.csv", of(list()), "none", by.ordinal(rating ~ temp + contact, wine))
add("wine, complementary log-log, no random term", "wine.csv", of(list(), 'link = "complementary log-log"'), "none", by.ordinal(rating ~ temp + contact, wine, "cloglog"))
add("wine, contact by threshold, no random term", "wine.csv", of(list(), 'by_threshold = ["contact"]'), "none", by.ordinal(rating ~ temp, wine, nominal = ~contact))

# --- soup: Christensen, Cleaver and Brockhoff (2011), from ordinal
data(soup, package = "ordinal")
soup$RESP <- paste0("r", soup$RESP); soup$SURENESS <- factor(paste0("s", soup$SURENESS), paste0("s", 1:6), ordered = TRUE); soup$PROD <- factor(soup$PROD)
soup$pair <- interaction(soup$RESP, soup$PROD, drop = TRUE)
table.out(soup[, c("RESP", "PROD", "SURENESS")], "soup", TRUE)
of <- function(random) model(soup, "SURENESS", "grades", list("PROD"), random, character(), c("SURENESS", "PROD"))
add("soup, one term", "soup.csv.gz", of(list(by("RESP"))), "Laplace", by.ordinal(SURENESS ~ PROD + (1 | RESP), soup))
add("soup, two nested terms", "soup.csv.gz", of(list(by("RESP"), by(c("RESP", "PROD")))), "Laplace", by.ordinal(SURENESS ~ PROD + (1 | RESP) + (1 | pair), soup))

writeLines(toJSON(all, auto_unbox = TRUE, digits = NA, pretty = TRUE, na = "null"), "fits.json")
versions <- list(R = R.version.string)
for (k in c("lme4", "ordinal", "glmmTMB", "mlmRev", "MASS", "jsonlite")) versions[[k]] <- as.character(packageVersion(k))
writeLines(toJSON(versions, auto_unbox = TRUE, pretty = TRUE), "versions.json")
