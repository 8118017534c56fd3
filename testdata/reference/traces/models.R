# Refits in R alone, from the tables of a run of the demonstration, the models of traces
# that its page tells of: grades by ordinal::clmm (Christensen 2019), counts by glmmTMB
# (Brooks and others 2017), both by Laplace's approximation; wear as a feature is calibrated
# first, by restricted likelihood with known errors (Carroll and others 2006, chapter 4).
# Run: Rscript models.R RESULTS/tables; it ends with 1 where an effect differs by more than
# a hundredth of its standard error, or a log likelihood by more than 1e-3. A spread that
# the table gives as zero is left out: clmm does not converge at the end of its range.
suppressMessages({ library(ordinal); library(glmmTMB) })
dir <- commandArgs(TRUE)[1]
read <- function(name) read.csv(file.path(dir, paste0(name, ".csv")), colClasses = "character", na.strings = "", check.names = FALSE)
number <- function(x) as.numeric(x)
looks <- read("traces"); pages <- read("pages"); models <- read("trace_models"); effects <- read("trace_effects"); means <- read("trace_means"); coding <- read("coding_book")
blank <- function(x) ifelse(is.na(x), "", x)
# clmm wants three groups of each kind; two observers are fewer, and are fitted all the same.
terms_of <- deparse(ordinal:::getREterms)
terms_of <- terms_of[!grepl("nlevels) > 2", terms_of, fixed = TRUE)]
assignInNamespace("getREterms", eval(parse(text = terms_of), asNamespace("ordinal")), "ordinal")
bad <- 0; checked <- 0
same <- function(what, mine, theirs, within) {
  checked <<- checked + 1
  if (is.na(mine) || abs(mine - number(theirs)) > within) { bad <<- bad + 1; cat(what, ": ", format(mine, digits = 9), " here, ", theirs, " there\n", sep = "") }
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

# The expected true wear of each page, by book, given what was measured.
calibrated <- function() {
  p <- pages[!is.na(pages$wear) & !is.na(pages$wear_se), ]
  p <- p[number(p$wear_se) > 0, ]
  y <- number(p$wear); se <- number(p$wear_se); book <- factor(p$book)
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

spreads <- c("standard deviation between books" = "book", "standard deviation between pages within books" = "book_page",
  "standard deviation between observers" = "observer", "standard deviation between texts within books" = "book_section", "standard deviation between quires within books" = "book_quire")
of <- list(rubbing = ~ part + wear, touched = ~ part + addressed, wax = ~ kind)
levels_of <- list(part = c("frame", "face", "hands", "feet"), addressed = c("no", "yes"), kind = c("hours", "office of the dead"))
true_wear <- calibrated()

for (i in seq_len(nrow(models))) {
  m <- models[i, ]
  if (!is.na(m$failed) && m$failed != "") next
  base <- sub(",.*", "", m$model)
  l <- looks[looks$trace == m$outcome, ]
  if (!is.na(m$book)) l <- l[l$book == m$book, ]
  l <- once(l)
  l$wear <- true_wear[paste(l$book, l$page)]
  l$place <- number(l$place)
  for (name in names(levels_of)) l[[name]] <- factor(l[[name]], levels_of[[name]])
  l$book_page <- paste(l$book, l$page); l$book_section <- paste(l$book, l$section); l$book_quire <- paste(l$book, l$quire)
  l <- l[!is.na(l$score), ]
  l <- l[complete.cases(l[, all.vars(of[[base]])]), ]
  at <- paste(m$model, blank(m$book))
  same(paste(at, "looks"), nrow(l), m$n, 0)
  own <- effects[effects$model == m$model & blank(effects$book) == blank(m$book), ]
  random <- own[grepl("^standard deviation", own$kind) & number(own$estimate) > 0, ]
  parts <- sapply(seq_len(nrow(random)), function(k) {
    by <- spreads[[random$kind[k]]]
    if (random$term[k] == "intercept") sprintf("(1 | %s)", by) else sprintf("(0 + %s | %s)", random$term[k], by)
  })
  formula <- as.formula(paste("y ~", paste(c(as.character(of[[base]])[2], unlist(parts)), collapse = " + ")))
  if (m$kind == "counts") {
    l$y <- number(l$score)
    fit <- glmmTMB(formula, l, family = nbinom2)
    found <- fixef(fit)$cond; loglik <- as.numeric(logLik(fit))
    errors <- sqrt(diag(vcov(fit)$cond)); vary <- sapply(VarCorr(fit)$cond, function(v) attr(v, "stddev"))
    names(found)[1] <- names(errors)[1] <- "intercept"
    same(paste(at, "dispersion"), sigma(fit), m$dispersion, 1e-3)
  } else {
    grades <- coding$grade[coding$trace == m$outcome]
    given <- sort(unique(number(l$score)))
    l$y <- factor(grades[number(l$score) + 1], grades[given + 1], ordered = TRUE)
    for (by in unique(spreads)) l[[by]] <- factor(l[[by]])
    fit <- if (length(parts) > 0) clmm(formula, l) else clm(formula, data = l)
    found <- coef(fit); loglik <- as.numeric(logLik(fit))
    errors <- sqrt(diag(vcov(fit)))[seq_along(found)]
    vary <- if (length(parts) > 0) sapply(VarCorr(fit), function(v) sqrt(v[1])) else NULL
    names(found) <- sub("|", " | ", names(found), fixed = TRUE)
  }
  names(errors) <- names(found)
  for (k in seq_along(vary)) {
    by <- names(vary)[k] # of (0 + place | observer) glmmTMB and clmm both give the group's name
    mine <- random[spreads[random$kind] == sub("\\..*", "", by), ]
    if (nrow(mine) == 1) same(paste(at, random$kind[k]), vary[[k]], mine$estimate, 1e-3 * max(1, vary[[k]]))
  }
  for (name in names(levels_of)) names(errors) <- names(found) <- sub(paste0("^", name, "(?=.)"), paste0(name, "="), names(found), perl = TRUE)
  same(paste(at, "log likelihood"), loglik, m$loglik, 1e-3)
  for (k in which(own$kind %in% c("effect", "threshold"))) {
    same(paste(at, own$term[k]), unname(found[own$term[k]]), own$estimate[k], number(own$se[k]) / 100)
    df <- number(own$df[k]); by_groups <- !is.na(own$method[k]) && own$method[k] == "Student's t by groups"
    # what differs between groups alone: by as many as there are, less the coefficients that they carry, the intercept one of them
    carried <- if (own$term[k] == "intercept") 1 else 2
    wider <- if (by_groups) sqrt((df + carried) / df) else 1
    same(paste(at, own$term[k], "standard error"), unname(errors[own$term[k]]) * wider, own$se[k], number(own$se[k]) / 100)
    if (own$kind[k] == "effect") {
      t <- number(own$estimate[k]) / number(own$se[k])
      reach <- if (is.na(df)) qnorm(.975) else qt(.975, df)
      same(paste(at, own$term[k], "p"), if (is.na(df)) 2 * pnorm(-abs(t)) else 2 * pt(-abs(t), df), own$p[k], 1e-6)
      same(paste(at, own$term[k], "low"), number(own$estimate[k]) - reach * number(own$se[k]), own$low[k], 1e-6)
      same(paste(at, own$term[k], "high"), number(own$estimate[k]) + reach * number(own$se[k]), own$high[k], 1e-6)
    }
  }
  # what the model expects, averaged over the looks as they are otherwise and over groups
  expected <- means[means$model == m$model & blank(means$book) == blank(m$book), ]
  sd <- sqrt(sum(number(random$estimate[random$term == "intercept"])^2))
  for (k in seq_len(nrow(expected))) {
    if (any(random$term != "intercept")) next       # spreads that differ from look to look
    set <- l; set[[expected$column[k]]][] <- expected$level[k]
    x <- model.matrix(of[[base]], set); colnames(x)[1] <- "intercept"
    for (name in names(levels_of)) colnames(x) <- sub(paste0("^", name, "(?=.)"), paste0(name, "="), colnames(x), perl = TRUE)
    if (m$kind == "counts") mine <- mean(exp(x %*% found[colnames(x)])) * exp(sd^2 / 2)
    else {
      eta <- as.vector(x[, -1, drop = FALSE] %*% found[colnames(x)[-1]])
      cuts <- c(-Inf, found[grepl(" | ", names(found), fixed = TRUE)], Inf)
      at_grade <- which(grades[given + 1] == expected$of[k])
      share <- function(u) sapply(u, function(v) mean(plogis(cuts[at_grade + 1] - eta - sd * v) - plogis(cuts[at_grade] - eta - sd * v)) * dnorm(v))
      mine <- integrate(share, -8, 8, rel.tol = 1e-9)$value
    }
    same(paste(at, "mean of", expected$column[k], expected$level[k], expected$of[k]), mine, expected$mean[k], 1e-3)
  }
}
cat(checked, "numbers recomputed,", bad, "differ\n")
quit(status = bad > 0)
