# Computes in R alone, from the tables of a run of the demonstration, what its page tells by
# models of traces. Grades are fitted by ordinal::clmm (Christensen 2019), counts by glmmTMB
# (Brooks and others 2017), both by Laplace's approximation; a feature measured with error is
# calibrated first, by restricted likelihood with known errors (Carroll and others 2006,
# chapter 4). Intervals of expected shares rest on Laplace's approximation written out below,
# its Hessian by second differences, and on what few groups leave open (the rules are told in
# models/generalised/fewgroups.go). The same for the answers under other choices, and for what
# simulation and extrapolation rest on (Cook and Stefanski 1994), with errors drawn here.
# Run: Rscript models.R RESULTS/tables [MODEL, to look at no other]; it ends with 1 where an effect differs by more than a
# hundredth of its standard error, a log likelihood or an expected share by more than 1e-3, an
# end of an interval by more than a hundredth of its width, or a simulated number by more than
# four times what chance leaves. A spread that comes out as zero is left out of clmm, which
# does not converge at the end of its range.
suppressMessages({ library(ordinal); library(glmmTMB); library(Matrix) })
set.seed(18)
dir <- commandArgs(TRUE)[1]; only <- commandArgs(TRUE)[2]
read <- function(name) read.csv(file.path(dir, paste0(name, ".csv")), colClasses = "character", na.strings = "", check.names = FALSE)
number <- function(x) as.numeric(x)
looks <- read("traces"); pages <- read("pages"); models <- read("trace_models"); effects <- read("trace_effects"); means <- read("trace_means"); coding <- read("coding_book")
expectations <- read("trace_expected"); answers <- read("answers"); told <- read("trace_answers"); robust <- read("robustness")
if (!is.na(only)) { models <- models[models$model == only, ]; robust <- robust[0, ] }
blank <- function(x) ifelse(is.na(x), "", x)
# clmm wants three groups of each kind; two observers are fewer, and are fitted all the same.
terms_of <- deparse(ordinal:::getREterms)
terms_of <- terms_of[!grepl("nlevels) > 2", terms_of, fixed = TRUE)]
assignInNamespace("getREterms", eval(parse(text = terms_of), asNamespace("ordinal")), "ordinal")
kinds <- NULL; bad <- 0
same <- function(kind, at, mine, theirs, within) {
  kinds <<- c(kinds, kind)
  if (length(mine) != 1 || is.na(mine) || !(abs(mine - number(theirs)) <= within)) { bad <<- bad + 1; cat(kind, " of ", at, ": ", format(mine, digits = 9), " here, ", theirs, " there\n", sep = "") }
}

# The lot of a look: FNV-1a of 64 bits (Fowler, Noll and Vo), in four limbs of 16 bits.
fnv <- function(text) {
  h <- c(0x2325, 0x8422, 0x9ce4, 0xcbf2)
  for (byte in as.integer(text)) {
    h[1] <- bitwXor(h[1], byte)
    low <- h * 0x1b3                                # times 2^40 + 0x1b3
    low[3] <- low[3] + (h[1] * 256) %% 65536
    low[4] <- low[4] + (h[1] * 256) %/% 65536 + (h[2] * 256) %% 65536
    for (k in 1:3) { low[k + 1] <- low[k + 1] + low[k] %/% 65536; low[k] <- low[k] %% 65536 }
    low[4] <- low[4] %% 65536
    h <- low
  }
  paste(sprintf("%04x", rev(h)), collapse = "")
}
nul <- as.raw(0)
lot <- function(l) fnv(Reduce(function(a, b) c(a, nul, b), lapply(c(l$book, l$trace, l$thing, l$observer, l$day), charToRaw)))

# One look at each thing, a clear one where there is one, else by lot.
once <- function(l) {
  key <- paste(l$book, l$trace, l$thing, sep = "|")
  keep <- sapply(split(seq_len(nrow(l)), factor(key, unique(key))), function(rows) {
    if (any(!is.na(l$score[rows]))) rows <- rows[!is.na(l$score[rows])]
    if (length(rows) == 1) return(rows)
    rows[order(sapply(rows, function(i) lot(l[i, ])))[1]]
  })
  l[sort(keep), ]
}

# The expected true value of a page's feature, by book, given what was measured.
calibrated <- function(column) {
  y <- number(pages[[column]]); se <- number(pages[[paste0(column, "_se")]])
  use <- !is.na(y) & !is.na(se) & se > 0
  p <- pages[use, ]; y <- y[use]; se <- se[use]; book <- factor(p$book)
  criterion <- function(theta, told = FALSE) {
    s2 <- exp(2 * theta[1]); t2 <- exp(2 * theta[2]); w <- 1 / (s2 + se^2)
    sw <- tapply(w, book, sum); swy <- tapply(w * y, book, sum)
    inner <- sw / (1 + t2 * sw)                     # 1'V^-1 1 of a book
    mu <- sum(swy / (1 + t2 * sw)) / sum(inner)
    if (told) {
      b <- t2 * (swy - sw * mu) / (1 + t2 * sw)
      fitted <- mu + b[book]
      return(setNames(fitted + s2 / (s2 + se^2) * (y - fitted), paste(p$book, p$page)))
    }
    r <- y - mu; swr <- tapply(w * r, book, sum)
    sum(log(s2 + se^2)) + sum(log(1 + t2 * sw)) + sum(w * r^2) - sum(t2 * swr^2 / (1 + t2 * sw)) + log(sum(inner))
  }
  best <- optim(log(c(sd(y), sd(y) / 2)), criterion, method = "BFGS", control = list(reltol = 1e-14, maxit = 500))
  criterion(best$par, told = TRUE)
}

# What a row of the tables is of: the features of each model, and what is asked of it.
of <- list(rubbing = ~ part + wear, touched = ~ part + addressed, wax = ~ kind)
levels_of <- list(part = c("frame", "face", "hands", "feet"), addressed = c("no", "yes"), kind = c("hours", "office of the dead"))
asked <- list(
  "Are faces rubbed more than frames?" = list(term = "part=face", column = "part", sides = c("face", "frame"), from = "bare"),
  "Are pictures on dirtier pages rubbed more?" = list(term = "wear", column = "wear", from = "abraded"),
  "Did the owner touch those whom a prayer addresses more than others?" = list(term = "addressed=yes", column = "addressed", sides = c("yes", "no"), from = "abraded"),
  "Was the office of the dead read by candle more than the hours?" = list(term = "kind=office of the dead", column = "kind", sides = c("office of the dead", "hours")))
spreads <- c("standard deviation between books" = "book", "standard deviation between pages within books" = "page",
  "standard deviation between observers" = "observer", "standard deviation between texts within books" = "section", "standard deviation between quires within books" = "quire")
true_wear <- calibrated("wear")

# The looks that a model is fitted to, with numbers as numbers and groups by name.
rows_of <- function(base, book = NA, among = looks, wear = true_wear) {
  trace <- models$outcome[models$model == base][1]
  l <- among[among$trace == trace, ]
  if (!is.na(book)) l <- l[l$book == book, ]
  l <- once(l)
  l$wear <- if (is.null(wear)) number(l$wear) else wear[paste(l$book, l$page)]
  l$place <- number(l$place); l$score <- number(l$score)
  for (name in names(levels_of)) l[[name]] <- factor(l[[name]], levels_of[[name]])
  for (by in c("page", "section", "quire")) l[[by]] <- paste(l$book, l[[by]])
  l
}
complete <- function(base, l) l[complete.cases(l[, c("score", all.vars(of[[base]]))]), ]

# Random terms that a model has, and those that were added: groups and the column that varies.
parts_of <- function(l, added) {
  out <- list()
  if (length(unique(l$book)) > 1) out <- c(out, list(c("book", "intercept")))
  if (length(unique(l$page)) < nrow(unique(l[, c("book", "thing")]))) out <- c(out, list(c("page", "intercept")))
  if (length(unique(l$observer)) > 1) out <- c(out, list(c("observer", "intercept"), c("observer", "place")))
  c(out, lapply(added, function(by) c(by, "intercept")))
}

# Laplace's approximation of minus the log likelihood, as a function of thresholds (or the
# intercept and the logarithm of the size), effects and standard deviations.
laplace <- function(base, l, parts, family) {
  X <- model.matrix(of[[base]], l)[, -1, drop = FALSE]
  for (name in names(levels_of)) colnames(X) <- sub(paste0("^", name, "(?=.)"), paste0(name, "="), colnames(X), perl = TRUE)
  Z <- lapply(parts, function(p) { g <- factor(l[[p[1]]]); sparseMatrix(seq_along(g), as.integer(g), x = if (p[2] == "intercept") rep(1, nrow(l)) else l[[p[2]]]) })
  m <- list(base = base, l = l, X = X, parts = parts, family = family, graded = family %in% c("logit", "probit"), u = rep(0, sum(sapply(Z, ncol))))
  y <- l$score
  if (m$graded) {
    m$grades <- coding$grade[coding$trace == l$trace[1]][sort(unique(y)) + 1]
    y <- match(y, sort(unique(y)))
    m$cuts <- paste(head(m$grades, -1), tail(m$grades, -1), sep = " | ")
  } else m$cuts <- c("intercept", if (family == "negative binomial") "log size")
  m$fixed <- c(m$cuts, colnames(X)); m$at <- function(names) match(names, m$fixed)
  F <- if (family == "probit") pnorm else plogis
  terms_at <- function(psi, eta) { # log likelihood of each row, and two derivatives by eta
    if (m$graded) {
      cut <- c(-Inf, psi[seq_along(m$cuts)], Inf)
      a <- cut[y + 1] - eta; b <- cut[y] - eta; p <- F(a) - F(b)
      if (family == "logit") return(list(log(p), F(a) + F(b) - 1, -(dlogis(a) + dlogis(b))))
      slope <- function(v) ifelse(is.infinite(v), 0, -v * dnorm(v)); d <- (dnorm(a) - dnorm(b)) / p
      return(list(log(p), -d, (slope(a) - slope(b)) / p - d^2))
    }
    mu <- exp(eta)
    if (family == "Poisson") return(list(dpois(y, mu, log = TRUE), y - mu, -mu))
    k <- exp(psi[2])
    list(dnbinom(y, size = k, mu = mu, log = TRUE), k * (y - mu) / (k + mu), -k * mu * (y + k) / (k + mu)^2)
  }
  spot <- environment(); u <- m$u
  m$value <- function(psi) {
    sd <- psi[length(m$fixed) + seq_along(parts)]
    linear <- if (m$graded) 0 else psi[1]
    linear <- linear + as.vector(X %*% psi[m$at(colnames(X))])
    if (length(parts) == 0) return(-sum(terms_at(psi, linear)[[1]]))
    W <- do.call(cbind, Map(`*`, Z, sd))
    for (step in 1:60) {
      t <- terms_at(psi, linear + as.vector(W %*% u))
      R <- chol(as.matrix(crossprod(W, W * -t[[3]])) + diag(length(u)))
      move <- backsolve(R, backsolve(R, as.vector(crossprod(W, t[[2]])) - u, transpose = TRUE))
      assign("u", u + move, spot)
      if (max(abs(move)) < 1e-9) break
    }
    -(sum(terms_at(psi, linear + as.vector(W %*% u))[[1]]) - sum(u^2) / 2 - sum(log(diag(R))))
  }
  m
}

# Second differences of a function of some of psi, at steps near a hundredth of standard errors.
second <- function(f, psi, which = seq_along(psi)) {
  f0 <- f(psi); shifted <- function(i, hi, j = i, hj = 0) { psi[i] <- psi[i] + hi; psi[j] <- psi[j] + hj; f(psi) }
  h <- sapply(which, function(i) 0.01 / sqrt(max(1e-2, (shifted(i, 1e-2) - 2 * f0 + shifted(i, -1e-2)) / 1e-4)))
  out <- diag(0, length(which))
  for (a in seq_along(which)) for (b in seq_len(a)) {
    i <- which[a]; j <- which[b]
    out[a, b] <- out[b, a] <- if (a == b) (shifted(i, h[a]) - 2 * f0 + shifted(i, -h[a])) / h[a]^2 else
      (shifted(i, h[a], j, h[b]) - shifted(i, h[a], j, -h[b]) - shifted(i, -h[a], j, h[b]) + shifted(i, -h[a], j, -h[b])) / (4 * h[a] * h[b])
  }
  out
}

# A fit by the packages: psi of [laplace], the log likelihood, standard errors as they give them.
# Of what observers differ by in level and in drift either may take the other's place: where one
# comes out as zero, the fit without the other is tried too, and the likelier of the two is taken.
fitted_by <- function(m) {
  all <- rep(TRUE, length(m$parts)); first <- fitted_with(m, all)
  observers <- which(sapply(m$parts, `[`, 1) == "observer"); sds <- first$psi[length(m$fixed) + observers]
  if (length(sds) != 2 || sum(sds == 0) != 1) return(first)
  all[observers[sds > 0]] <- FALSE; other <- fitted_with(m, all)
  if (other$loglik > first$loglik + 1e-6) other else first
}
fitted_with <- function(m, keep) {
  l <- m$l; l$y <- if (m$graded) factor(match(l$score, sort(unique(l$score))), ordered = TRUE) else l$score
  for (by in unique(spreads)) l[[by]] <- factor(l[[by]])
  repeat {
    own <- sapply(m$parts[keep], function(p) if (p[2] == "intercept") sprintf("(1 | %s)", p[1]) else sprintf("(0 + %s | %s)", p[2], p[1]))
    formula <- as.formula(paste("y ~", paste(c(as.character(of[[m$base]])[2], unlist(own)), collapse = " + ")))
    if (m$graded) {
      fit <- if (any(keep)) clmm(formula, l, link = m$family, Hess = TRUE) else clm(formula, data = l, link = m$family)
      vary <- if (any(keep)) VarCorr(fit) else list()
      found <- coef(fit)[seq_along(m$fixed)]; errors <- suppressWarnings(sqrt(diag(vcov(fit))))[seq_along(m$fixed)]
    } else {
      fit <- glmmTMB(formula, l, family = if (m$family == "Poisson") poisson else nbinom2)
      vary <- VarCorr(fit)$cond
      b <- fixef(fit)$cond; size <- if (m$family != "Poisson") log(sigma(fit))
      found <- c(b[1], size, b[-1]); e <- suppressWarnings(sqrt(diag(vcov(fit)$cond))); errors <- c(e[1], if (!is.null(size)) NA, e[-1])
    }
    term <- paste(sub("\\.\\d+$", "", names(vary)), sub("(Intercept)", "intercept", sapply(vary, rownames), fixed = TRUE))
    sds <- rep(0, length(m$parts))
    for (k in which(keep)) sds[k] <- sqrt(vary[[match(paste(m$parts[[k]], collapse = " "), term)]][1])
    small <- keep & sds < 5e-3
    if (!any(small)) break
    keep <- keep & !small
  }
  names(found) <- names(errors) <- m$fixed
  list(psi = c(found, sds), errors = errors, loglik = as.numeric(logLik(fit)))
}

# The packages stop early where the likelihood is flat in a spread: on from there, with the
# likelihood written out.
closer <- function(m, fit) {
  psi <- fit$psi; spread <- seq_along(psi) > length(m$fixed); psi[spread] <- pmax(psi[spread], 0.05)
  best <- nlminb(psi, m$value, control = list(rel.tol = 1e-12, iter.max = 100))
  psi <- best$par; psi[spread] <- ifelse(abs(psi[spread]) < 1e-3, 0, abs(psi[spread]))
  list(psi = psi, errors = setNames(sqrt(diag(solve(second(m$value, psi))))[seq_along(m$fixed)], m$fixed), loglik = -best$objective)
}

# What each factor's groups leave open: groups, degrees of freedom, columns alike in all rows of
# each group.
evidence <- function(m) lapply(split(seq_along(m$parts), sapply(m$parts, `[`, 1))[unique(sapply(m$parts, `[`, 1))], function(k) {
  g <- m$l[[m$parts[[k[1]]][1]]]
  alike <- apply(m$X, 2, function(x) all(tapply(x, g, function(v) all(v == v[1]))))
  groups <- length(unique(g))
  list(parts = k, groups = groups, alike = alike, df = max(1, groups - 1 - sum(alike)))
})
# of one effect: its degrees of freedom, and by how much its standard error is enlarged
rests_on <- function(m, term) {
  out <- list(df = Inf, wider = 1)
  for (e in evidence(m)) if (e$groups < nrow(m$l) && (term == "intercept" || isTRUE(e$alike[[term]])) && e$df < out$df) out <- list(df = e$df, wider = sqrt(e$groups / e$df))
  out
}

# The covariance of psi, and what the variance of each random term with few groups adds.
uncertain <- function(m, psi) {
  first <- seq_along(m$fixed); H <- second(m$value, psi)
  covariance <- solve(H); few <- list()
  for (e in evidence(m)) {
    if (e$groups > 100 || e$groups >= nrow(m$l)) next
    i <- length(first) + e$parts
    unit <- sapply(m$parts[e$parts], function(p) if (p[2] == "intercept") 1 else sqrt(mean(m$l[[p[2]]]^2)))
    own <- mean((psi[i] * unit)^2); open <- mean(pmin(diag(covariance)[i] * unit^2, 1))
    wide <- max(own * e$groups / e$df, own + open)
    if (wide - own < 1e-8) next
    longer <- psi; longer[i] <- if (own > 1e-8) psi[i] * sqrt(wide / own) else sqrt(wide) / unit
    few <- c(few, list(list(df = e$df, inside = own / (wide - own), more = solve(second(m$value, longer, first)) - solve(H[first, first]))))
  }
  list(covariance = covariance, few = few, first = first)
}

# The mean over looks of the probability of each grade, or of the rate; normal random terms are
# integrated out by the trapezium rule.
expect <- function(m, psi, set = m$l) {
  X <- model.matrix(of[[m$base]], set)[, -1, drop = FALSE]
  sd <- psi[length(m$fixed) + seq_along(m$parts)]
  spread <- rep(0, nrow(set))
  for (k in seq_along(m$parts)) spread <- spread + (sd[k] * if (m$parts[[k]][2] == "intercept") 1 else set[[m$parts[[k]][2]]])^2
  eta <- as.vector(X %*% psi[m$at(colnames(m$X))])
  if (!m$graded) return(mean(exp(psi[1] + eta + spread / 2)))
  F <- if (m$family == "probit") pnorm else plogis
  v <- seq(-8, 8, 0.2); w <- dnorm(v) * 0.2
  below <- sapply(psi[seq_along(m$cuts)], function(cut) mean(F(cut - eta - outer(sqrt(spread), v)) %*% w))
  setNames(diff(c(0, below, 1)), m$grades)
}
least <- function(m, psi, set, from) { p <- expect(m, psi, set); if (m$graded) sum(p[match(from, m$grades):length(p)]) else p }

# The ends of the interval of a mean.
ends <- function(m, psi, u, value) {
  bend <- if (m$graded) qlogis else log; back <- if (m$graded) plogis else exp
  g <- sapply(seq_along(psi), function(i) { h <- 1e-4 * max(0.1, abs(psi[i])); up <- down <- psi; up[i] <- psi[i] + h; down[i] <- psi[i] - h; (bend(value(up)) - bend(value(down))) / (2 * h) })
  left <- sum(g * (u$covariance %*% g)); total <- squares <- 0
  for (t in u$few) {
    more <- max(0, sum(g[u$first] * (t$more %*% g[u$first])))
    inside <- min(left, t$inside * more); left <- left - inside
    total <- total + inside + more; squares <- squares + (inside + more)^2 / t$df
  }
  total <- total + left
  back(bend(value(psi)) + c(-1, 1) * (if (squares > 0) qt(.975, total^2 / squares) else qnorm(.975)) * sqrt(total))
}
hold_mean <- function(kind, at, m, psi, u, value, row) {
  same(kind, at, value(psi), row$mean, 1e-3)
  mine <- ends(m, psi, u, value); width <- number(row$high) - number(row$low)
  same(paste("interval of", kind), paste(at, "low"), mine[1], row$low, width / 100)
  same(paste("interval of", kind), paste(at, "high"), mine[2], row$high, width / 100)
}
put <- function(l, column, level) { l[[column]][] <- level; l }
# the two values that a question sets against each other, over the looks of the model
sides <- function(q, l) {
  if (!is.null(q$sides)) return(q$sides)
  v <- sort(l[[q$column]]); n <- length(v); c(v[n - n %/% 10], v[n %/% 10 + 1])
}

for (i in seq_len(nrow(models))) {
  row <- models[i, ]
  if (!is.na(row$failed) && row$failed != "") next
  base <- sub(",.*", "", row$model); added <- strsplit(sub("^[^,]*(, with )?", "", row$model), " and ")[[1]]
  at <- paste(row$model, blank(row$book))
  l <- rows_of(base, row$book); every <- l; l <- complete(base, l)
  parts <- parts_of(every, added)
  m <- laplace(base, l, parts, if (row$kind == "counts") "negative binomial" else "logit")
  fit <- fitted_by(m); psi <- fit$psi
  same("looks used", at, nrow(l), row$n, 0)
  same("log likelihood", at, fit$loglik, row$loglik, 1e-3)
  same("log likelihood, written out", at, -m$value(psi), row$loglik, 1e-3)
  if (row$kind == "counts") same("size of the negative binomial", at, exp(psi[2]), row$dispersion, 1e-3)
  own <- effects[effects$model == row$model & blank(effects$book) == blank(row$book), ]
  random <- own[grepl("^standard deviation", own$kind), ]
  for (k in seq_along(parts)) {
    mine <- random[spreads[random$kind] == parts[[k]][1] & random$term == parts[[k]][2], ]
    sd <- psi[length(m$fixed) + k]
    same("spread between groups", paste(at, parts[[k]][1], parts[[k]][2]), sd, if (nrow(mine) == 1) mine$estimate else NA, 1e-3 * max(1, sd))
  }
  u <- uncertain(m, psi); se <- sqrt(diag(u$covariance))
  for (k in which(own$kind %in% c("effect", "threshold"))) {
    e <- own[k, ]; here <- m$at(e$term); rest <- if (e$kind == "effect") rests_on(m, e$term) else list(df = Inf, wider = 1)
    same(e$kind, paste(at, e$term), psi[[here]], e$estimate, number(e$se) / 100)
    same(paste("standard error of an", sub("^thr", "outcome's thr", e$kind)), paste(at, e$term), fit$errors[[here]] * rest$wider, e$se, number(e$se) / 100)
    same(paste("the same, written out,"), paste(at, e$term), se[here] * rest$wider, e$se, number(e$se) / 100)
    if (e$kind == "effect") {
      same("degrees of freedom", paste(at, e$term), if (is.finite(rest$df)) rest$df else 0, if (is.na(e$df)) 0 else e$df, 0)
      t <- number(e$estimate) / number(e$se)
      same("p of an effect", paste(at, e$term), 2 * pt(-abs(t), rest$df), e$p, 1e-6)
      same("interval of an effect", paste(at, e$term, "low"), number(e$estimate) - qt(.975, rest$df) * number(e$se), e$low, 1e-6)
      same("interval of an effect", paste(at, e$term, "high"), number(e$estimate) + qt(.975, rest$df) * number(e$se), e$high, 1e-6)
    }
  }
  # what the model expects, averaged over the looks as they are otherwise and over groups
  here <- means$model == row$model & blank(means$book) == blank(row$book)
  for (k in which(here)) {
    e <- means[k, ]; set <- put(l, e$column, e$level)
    hold_mean("expected share", paste(at, e$column, e$level, e$of), m, psi, u, function(v) { p <- expect(m, v, set); if (m$graded) p[[e$of]] else p }, e)
  }
  here <- expectations$model == row$model & blank(expectations$book) == blank(row$book)
  for (k in which(here)) {
    e <- expectations[k, ]; set <- l[l[[e$column]] == e$level, ]; p <- expect(m, psi, set)
    same("looks with a level", paste(at, e$column, e$level), nrow(set), e$looks, 0)
    same("share seen", paste(at, e$column, e$level, e$of), if (m$graded) mean(set$score == match(e$of, coding$grade[coding$trace == row$outcome]) - 1) else mean(set$score), e$seen, 1e-9)
    same("share expected of these", paste(at, e$column, e$level, e$of), if (m$graded) p[[e$of]] else p, e$expected, 1e-3)
  }
  # the answers of this model
  for (k in which(answers$model == base & blank(answers$book) == blank(row$book) & gsub("; ", " and ", blank(answers$added)) == paste(added, collapse = " and "))) {
    a <- answers[k, ]; q <- asked[[a$question]]; rest <- rests_on(m, q$term)
    same("effect of an answer", a$question, psi[[m$at(q$term)]], a$estimate, number(a$se) / 100)
    same("standard error of an answer", a$question, se[m$at(q$term)] * rest$wider, a$se, number(a$se) / 100)
    family <- sum(answers$family == a$family)
    same("p of an answer, adjusted", a$question, min(1, 2 * family * pt(number(a$estimate) / number(a$se), rest$df, lower.tail = FALSE)), a$p_adjusted, 1e-6)
    same("level of an answer's interval", a$question, .05 / family, a$level, 1e-9)
    same("interval of an answer", a$question, number(a$estimate) - qt(1 - .025 / family, rest$df) * number(a$se), a$low, 1e-6)
    two <- sides(q, every)
    for (s in 1:2) {
      e <- told[told$question == a$question & blank(told$book) == blank(a$book) & told$side == c("asked about", "against")[s], ]
      set <- put(l, q$column, two[s])
      hold_mean("answer in words", paste(a$question, blank(a$book), e$side), m, psi, u, function(v) least(m, v, set, q$from), e)
    }
  }
}

# Wear by what was rubbed: the score calibrated, then restricted likelihood with the errors
# that pages share known.
wear_of_pictures <- function() {
  row <- read("models"); row <- row[row$model == "wear of pictures", ]
  if (nrow(row) == 0) return()
  p <- pages[pages$picture == "yes", ]; p$score <- calibrated("rubbing_score")[paste(p$book, p$page)]; p <- p[!is.na(p$score) & !is.na(p$wear), ]
  errors <- read("shared_errors"); known <- matrix(0, nrow(p), nrow(p))
  for (e in which(errors$known == "yes")) {
    of <- strsplit(blank(p[[paste0(errors$by[e], "_offset")]]), " + ", fixed = TRUE)
    labels <- unique(sub(" × .*", "", unlist(of)))
    L <- t(sapply(of, function(x) { v <- setNames(rep(0, length(labels)), labels); for (one in x) { s <- strsplit(one, " × ")[[1]]; v[s[1]] <- if (length(s) > 1) number(s[2]) else 1 }; v }))
    if (length(labels) == 1) L <- t(L)
    known <- known + number(errors$sd[e])^2 * tcrossprod(L)
  }
  y <- number(p$wear); X <- cbind(1, p$score); Z <- model.matrix(~ 0 + factor(p$book))
  deviance <- function(log_sd, all = FALSE) {
    R <- chol(known + diag(exp(2 * log_sd[1]), length(y)) + exp(2 * log_sd[2]) * tcrossprod(Z))
    x <- backsolve(R, X, transpose = TRUE); v <- backsolve(R, y, transpose = TRUE); q <- qr(x); b <- qr.coef(q, v)
    d <- 2 * sum(log(diag(R))) + 2 * sum(log(abs(diag(qr.R(q))))) + sum((v - x %*% b)^2) + (length(y) - 2) * log(2 * pi)
    if (all) list(b = b, se = sqrt(diag(solve(crossprod(x)))), loglik = -d / 2, sd = exp(log_sd)) else d
  }
  best <- optim(log(c(.05, .05)), deviance, control = list(reltol = 1e-14, maxit = 2000)); best <- deviance(best$par, TRUE)
  fixed <- read("fixed_effects"); e <- fixed[fixed$model == "wear of pictures" & fixed$term == "rubbing_score", ]
  same("wear by what was rubbed", "pages", nrow(p), row$n, 0)
  same("wear by what was rubbed", "effect", best$b[2], e$estimate, number(e$se) / 100)
  # Kenward and Roger's differs from it by what is unknown of the variances, little with 88 pages
  same("wear by what was rubbed", "standard error", best$se[2], e$se, number(e$se) / 20)
  same("wear by what was rubbed", "log likelihood", best$loglik, row$loglik, 1e-4)
  same("wear by what was rubbed", "residual", best$sd[1], row$residual_sd, 1e-4)
}
if (is.na(only)) wear_of_pictures()

# The looks under another choice, and the wear that stands in them; NULL: as measured.
under <- function(choice, base) {
  l <- looks; mine <- l$trace == models$outcome[models$model == base][1]
  cut <- function(what) sub(what, "", choice)
  if (grepl("outermost leaves", choice)) l <- l[!(!is.na(l$edge) & number(l$edge) < number(gsub("\\D", "", choice))), ]
  if (choice == "without the first page of each text") l <- l[blank(l$incipit) != "yes", ]
  if (grepl("^without the book ", choice)) l <- l[l$book != cut("without the book "), ]
  if (grepl("^without the observer ", choice)) l <- l[l$observer != cut("without the observer "), ]
  if (grepl("^without the day ", choice)) l <- l[l$day != cut("without the day "), ]
  if (grepl("cannot be told", choice)) {
    levels <- coding$grade[coding$trace == l$trace[mine][1]]
    level <- gsub(".*“|”", "", choice)
    l$score[mine & is.na(l$score)] <- if (all(is.na(levels))) 0 else match(level, levels) - 1
  }
  list(looks = l, wear = if (grepl("as measured|by simulation", choice)) NULL else true_wear)
}

for (i in which(robust$model %in% names(of) & is.na(robust$failed) & !grepl("by simulation", robust$choice))) {
  row <- robust[i, ]; base <- row$model; q <- asked[[row$question]]; at <- paste0(row$question, " ", row$choice)
  other <- under(row$choice, base)
  every <- rows_of(base, row$book, other$looks, other$wear); l <- complete(base, every)
  counts <- models$kind[models$model == base][1] == "counts"
  family <- if (!counts) { if (grepl("probit", row$choice)) "probit" else "logit" } else if (grepl("Poisson", row$choice)) "Poisson" else "negative binomial"
  added <- strsplit(as.character(blank(row$added)), "; ")[[1]]
  m <- laplace(base, l, parts_of(every, added), family); fit <- fitted_by(m); rest <- rests_on(m, q$term); se <- number(row$se)
  if (abs(fit$errors[[m$at(q$term)]] * rest$wider - se) > se / 100 && family != "probit") fit <- closer(m, fit)
  # grades by the probit link are integrated by expectation propagation there, by Laplace's approximation here
  close <- if (family == "probit") 10 else 1
  same("another choice: looks", at, nrow(l), row$n, 0)
  same("another choice: effect", at, fit$psi[[m$at(q$term)]], row$estimate, close * se / 100)
  same("another choice: standard error", at, fit$errors[[m$at(q$term)]] * rest$wider, row$se, close * se / 100)
  same("another choice: degrees of freedom", at, if (is.finite(rest$df)) rest$df else 0, if (is.na(row$df)) 0 else row$df, 0)
  same("another choice: p", at, pt(number(row$estimate) / se, rest$df, lower.tail = FALSE), row$p, 1e-6)
  two <- sides(q, every)
  for (s in 1:2) same("another choice: in words", at, least(m, fit$psi, put(l, q$column, two[s]), q$from), row[[c("asked", "against")[s]]], close * if (counts) number(row$asked) / 200 else 1e-3)
}

# Simulation and extrapolation.
from <- read("robustness_from"); if (!is.na(only)) from <- from[0, ]
if (nrow(from) > 0) {
  for (column in c("by", "fits", "estimate", "variance", "between")) from[[column]] <- number(from[[column]])
  pairs <- 4
  for (of_one in split(from, paste(from$question, blank(from$book)))) {
    row <- robust[robust$question == of_one$question[1] & robust$choice == of_one$choice[1] & blank(robust$book) == blank(of_one$book[1]), ]; q <- asked[[row$question]]
    # followed back exactly
    back <- function(y) predict(lm(y ~ by + I(by^2), of_one), data.frame(by = -1))[[1]]
    same("simulation: effect followed back", row$question, back(of_one$estimate), row$estimate, 1e-7)
    same("simulation: standard error followed back", row$question, sqrt(back(of_one$variance - of_one$between)), row$se, 1e-7)
    # the simulated points within what chance leaves: the mean of so many pairs there, of fewer here
    base <- row$model; l <- complete(base, rows_of(base, row$book, looks, NULL)); m <- laplace(base, l, parts_of(l, strsplit(as.character(blank(row$added)), "; ")[[1]]), "logit")
    one <- function(l) { m$l <- l; f <- fitted_by(m); w <- rests_on(m, q$term)$wider; c(f$psi[[m$at(q$term)]], (f$errors[[m$at(q$term)]] * w)^2) }
    first <- one(l)
    same("simulation: as measured", row$question, first[1], of_one$estimate[1], sqrt(first[2]) / 100)
    same("simulation: variance as measured", row$question, first[2], of_one$variance[1], first[2] / 50)
    page <- paste(l$book, l$page)
    for (k in which(of_one$by %in% c(1, 2))) {
      drawn <- do.call(rbind, lapply(1:pairs, function(pair) {
        z <- setNames(rnorm(length(unique(page))), unique(page))[page]
        t(sapply(c(1, -1), function(sign) { l$wear <- l$wear + sign * sqrt(of_one$by[k]) * number(l$wear_se) * z; one(l) }))
      }))
      middle <- function(v) tapply(v, rep(1:pairs, each = 2), mean)
      reach <- function(v) qt(1 - 1e-4, pairs - 1) * sd(middle(v)) * sqrt(1 / pairs + 2 / of_one$fits[k])
      same("simulation: effect with error added", paste(row$question, of_one$by[k]), mean(drawn[, 1]), of_one$estimate[k], reach(drawn[, 1]) + sqrt(first[2]) / 100)
      same("simulation: its variance", paste(row$question, of_one$by[k]), mean(drawn[, 2]), of_one$variance[k], reach(drawn[, 2]) + first[2] / 50)
      ratio <- mean((drawn[, 1] - mean(drawn[, 1]))^2) / of_one$between[k]
      same("simulation: between fits", paste(row$question, of_one$by[k], "ratio of variances", format(ratio)), as.numeric(ratio > qf(1e-4, pairs, of_one$fits[k] / 2) && ratio < qf(1 - 1e-4, pairs, of_one$fits[k] / 2)), 1, 0)
    }
  }
}
for (kind in unique(kinds)) cat(sum(kinds == kind), kind, "\n")
cat(length(kinds), "numbers recomputed,", bad, "differ\n")
quit(status = as.integer(bad > 0))
