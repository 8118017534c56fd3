# Recomputes from tables/traces.csv of a run, with R alone, what the page says of traces
# without a model: states, shares and their intervals, rates, agreement, confusion and
# prints on facing pages. Run: Rscript live.R RESULTS/tables; it ends with 1 where
# a number differs by more than 1e-9 of its size. The interval of alpha is by drawing pages
# anew: its ends must lie where those of 999 draws do among the draws made here, but for
# four standard errors of a share.
set.seed(18)
dir <- commandArgs(TRUE)[1]
read <- function(name) read.csv(file.path(dir, paste0(name, ".csv")), colClasses = "character", na.strings = "", check.names = FALSE)
number <- function(x) as.numeric(x)
looks <- read("traces"); states <- read("trace_states"); shares <- read("trace_shares")
agree <- read("trace_agreement"); grades <- read("trace_grades"); confusion <- read("trace_confusion"); prints <- read("trace_prints"); coding <- read("coding_book")
pages <- read("pages")
blank <- function(x) ifelse(is.na(x), "", x)
looks$part <- blank(looks$part); states$part <- blank(states$part); shares$part <- blank(shares$part)
looks$score <- number(looks$score)
bad <- 0; checked <- 0
same <- function(what, mine, theirs) {
  theirs <- number(theirs); checked <<- checked + 1
  if (is.na(mine) != is.na(theirs) || !is.na(mine) && abs(mine - theirs) > 1e-9 * max(1, abs(mine))) { bad <<- bad + 1; cat(what, ": ", mine, " here, ", theirs, " there\n", sep = "") }
}
things <- split(looks, paste(looks$trace, looks$book, looks$page, looks$part, sep = "|"))
levelsOf <- function(trace) { rows <- coding[coding$trace == trace, ]; if (rows$kind[1] == "yes or no") c("no", "yes") else if (rows$kind[1] == "grades") rows$grade else NULL }

for (i in seq_len(nrow(states))) {
  s <- states[i, ]
  own <- Filter(function(t) t$trace[1] == s$trace && t$book[1] == s$book && t$part[1] == s$part, things)
  clear <- lapply(own, function(t) t$score[!is.na(t$score)])
  there <- sum(sapply(clear, function(v) length(v) > 0 && 2 * sum(v > 0) >= length(v) && any(v > 0)))
  told <- sum(sapply(clear, length) > 0)
  of <- coding$looked_at[coding$trace == s$trace][1]
  wanted <- sum(pages$book == s$book & (of == "pages" | pages$picture == "yes"))
  at <- paste(s$trace, s$book, s$part)
  same(paste(at, "things"), wanted, s$things)
  same(paste(at, "there"), there, s$there)
  same(paste(at, "nothing"), told - there, s$nothing)
  same(paste(at, "unclear"), length(own) - told, s$unclear)
  same(paste(at, "not looked at"), wanted - length(own), s$not_looked)
  clear <- clear[sapply(clear, length) > 0]
  rows <- shares[shares$trace == s$trace & shares$book == s$book & shares$part == s$part, ]
  levels <- levelsOf(s$trace)
  if (is.null(levels)) {
    counts <- sapply(clear, mean); n <- length(counts); rate <- sum(counts) / n
    same(paste(at, "rate"), rate, rows$rate)
    if (sum(counts) == 0) same(paste(at, "rate, high"), qchisq(.975, 2) / 2 / n, rows$rate_high) # Garwood's
    if (sum(counts) > 0) {
      v <- max(1 / sum(counts), sum((counts - rate)^2) * n / (n - 1) / sum(counts)^2)
      same(paste(at, "rate, low"), rate * exp(-qnorm(.975) * sqrt(v)), rows$rate_low)
      same(paste(at, "rate, high"), rate * exp(qnorm(.975) * sqrt(v)), rows$rate_high)
    }
    next
  }
  for (k in seq_along(levels)) {
    share <- mean(sapply(clear, function(v) mean(v == k - 1)))
    least <- mean(sapply(clear, function(v) mean(v >= k - 1)))
    row <- rows[rows$level == levels[k], ]
    same(paste(at, levels[k]), share, row$share)
    same(paste(at, levels[k], "or higher"), least, row$least)
    if (k > 1) {
      interval <- prop.test(least * told, told, correct = FALSE)$conf.int # Wilson's
      same(paste(at, levels[k], "low"), interval[1], row$low)
      same(paste(at, levels[k], "high"), interval[2], row$high)
    }
  }
}

alpha <- function(units, metric) {
  units <- Filter(function(v) length(v) > 1, units)
  values <- sort(unique(unlist(units))); k <- length(values)
  o <- matrix(0, k, k)
  for (u in units) for (a in seq_along(u)) for (b in seq_along(u)) if (a != b) {
    i <- match(u[a], values); j <- match(u[b], values); o[i, j] <- o[i, j] + 1 / (length(u) - 1)
  }
  n <- rowSums(o)
  d <- outer(1:k, 1:k, Vectorize(function(i, j) if (i == j) 0 else switch(metric, nominal = 1,
    ordinal = (sum(n[min(i, j):max(i, j)]) - (n[i] + n[j]) / 2)^2, ratio = ((values[i] - values[j]) / (values[i] + values[j]))^2)))
  1 - (sum(n) - 1) * sum(o * d) / sum(outer(n, n) * d)
}
draws <- 1000
anew <- function(units, page, metric, low, high, what) {
  of <- split(seq_along(units), page)
  drawn <- sort(replicate(draws, alpha(units[unlist(of[sample(length(of), replace = TRUE)])], metric)))
  for (end in list(c(.025, number(low)), c(.975, number(high)))) {
    within <- 4 * sqrt(end[1] * (1 - end[1]) * (1 / 999 + 1 / length(drawn)))
    reach <- quantile(drawn, pmin(pmax(end[1] + c(-within, within), 0), 1), names = FALSE)
    same(paste(what, end[1], "in", reach[1], "to", reach[2]), as.numeric(end[2] >= reach[1] - 1e-9 && end[2] <= reach[2] + 1e-9), 1)
  }
}
for (i in seq_len(nrow(agree))) {
  a <- agree[i, ]; levels <- levelsOf(a$trace)
  own <- lapply(Filter(function(t) t$trace[1] == a$trace, things), function(t) t[!is.na(t$score), ])
  units <- lapply(own, function(t) t$score)
  kind <- coding$kind[coding$trace == a$trace][1]
  same(paste(a$trace, "alpha"), alpha(units, switch(kind, grades = "ordinal", counts = "ratio", "nominal")), a$alpha)
  twice <- Filter(function(t) nrow(t) > 1, own); page <- sapply(twice, function(t) paste(t$book[1], t$page[1]))
  values <- lapply(twice, function(t) t$score)
  if (!is.na(a$alpha_low)) anew(values, page, switch(kind, grades = "ordinal", counts = "ratio", "nominal"), a$alpha_low, a$alpha_high, paste(a$trace, "interval of alpha"))
  if (!is.na(a$alpha_nominal_low)) anew(values, page, "nominal", a$alpha_nominal_low, a$alpha_nominal_high, paste(a$trace, "interval of nominal alpha"))
  if (kind == "grades") same(paste(a$trace, "nominal alpha"), alpha(units, "nominal"), a$alpha_nominal)
  both <- Filter(function(t) nrow(t) == 2, lapply(own, function(t) t[t$observer %in% c(a$one, a$other), ]))
  x <- sapply(both, function(t) t$score[t$observer == a$one]); y <- sapply(both, function(t) t$score[t$observer == a$other])
  same(paste(a$trace, "same"), sum(x == y), a$same)
  same(paste(a$trace, "higher"), sum(y > x), a$higher)
  same(paste(a$trace, "lower"), sum(y < x), a$lower)
  differ <- sum(x != y)
  same(paste(a$trace, "sign test"), if (differ == 0) 1 else min(1, 2 * pbinom(min(sum(y > x), sum(y < x)), differ, .5)), a$p)
  apart <- sapply(split(y - x, sapply(both, function(t) paste(t$book[1], t$page[1]))), mean)
  if (length(apart) >= 10) {
    place <- sapply(split(sapply(both, function(t) number(t$place[1])), sapply(both, function(t) paste(t$book[1], t$page[1]))), mean)
    line <- lm(apart ~ place)
    same(paste(a$trace, "drift"), coef(line)[[2]], a$drift)
    same(paste(a$trace, "drift, low"), confint(line)[2, 1], a$drift_low)
    same(paste(a$trace, "drift, high"), confint(line)[2, 2], a$drift_high)
  }
  if (!is.null(levels)) {
    m <- table(factor(x, seq_along(levels) - 1), factor(y, seq_along(levels) - 1)); p <- m / sum(m); k <- length(levels)
    w <- 1 - outer(1:k, 1:k, function(i, j) ((i - j) / (k - 1))^2)
    po <- sum(w * p); pe <- sum(w * outer(rowSums(p), colSums(p)))
    kappa <- (po - pe) / (1 - pe)
    same(paste(a$trace, "kappa"), kappa, a$kappa)
    # Fleiss, Cohen and Everitt (1969)
    mean_weight <- outer(as.vector(w %*% colSums(p)), as.vector(rowSums(p) %*% w), "+")
    se <- sqrt((sum(p * (w - mean_weight * (1 - kappa))^2) - (kappa - pe * (1 - kappa))^2) / sum(m)) / (1 - pe)
    same(paste(a$trace, "kappa, low"), max(-1, kappa - qnorm(.975) * se), a$kappa_low)
    same(paste(a$trace, "kappa, high"), min(1, kappa + qnorm(.975) * se), a$kappa_high)
    if (sum(agree$trace == a$trace) == 1) for (r in 1:k) {
      g <- grades[grades$trace == a$trace & grades$value == levels[r], ]; given <- sum(m[r, ]) + sum(m[, r]); other <- m[r, ] + m[, r]; other[r] <- 0
      same(paste(a$trace, levels[r], "given"), given, g$given)
      if (given > 0) same(paste(a$trace, levels[r], "agreed on"), 2 * m[r, r] / given, g$agreed)
      if (max(other) > 0) same(paste(a$trace, levels[r], "exchanged for"), as.numeric(levels[which.max(other)] == g$with), 1)
    }
    for (r in 1:k) for (q in 1:k) {
      cell <- confusion[confusion$trace == a$trace & confusion$one == a$one & confusion$other == a$other & confusion$value_one == levels[r] & confusion$value_other == levels[q], ]
      same(paste(a$trace, "confusion", levels[r], levels[q]), m[r, q], cell$things)
    }
  }
}

for (i in seq_len(nrow(prints))) {
  t <- prints[i, ]
  kind <- coding$kind[coding$trace == t$trace][1]
  there <- list()
  for (own in Filter(function(x) x$trace[1] == t$trace, things)) {
    v <- sort(own$score[!is.na(own$score)])
    if (length(v) == 0) next
    key <- paste(own$book[1], own$page[1], sep = "|")
    middle <- if (kind == "counts") mean(v) else v[(length(v) + 1) %/% 2]
    there[[key]] <- max(there[[key]], middle > 0)
  }
  chance <- 1; both <- 0; expected <- 0; openings <- 0
  for (book in unique(pages$book)) {
    rows <- pages[pages$book == book, ]
    pairs <- Filter(function(o) nrow(o) == 2, split(rows, rows$opening))
    told <- Filter(function(o) all(sapply(o$page, function(p) !is.null(there[[paste(book, p, sep = "|")]]))), pairs)
    if (length(told) == 0) next
    v <- sapply(told, function(o) there[[paste(book, o$page[o$side == "verso"], sep = "|")]]); r <- sapply(told, function(o) there[[paste(book, o$page[o$side == "recto"], sep = "|")]])
    both <- both + sum(v & r); n <- length(told); openings <- openings + n; expected <- expected + sum(v) * sum(r) / n
    own <- dhyper(0:min(sum(v), sum(r)), sum(v), n - sum(v), sum(r)); out <- rep(0, length(chance) + length(own) - 1)
    for (a in seq_along(chance)) for (b in seq_along(own)) out[a + b - 1] <- out[a + b - 1] + chance[a] * own[b]
    chance <- out
  }
  same(paste(t$trace, "openings"), openings, t$openings)
  same(paste(t$trace, "both"), both, t$both)
  same(paste(t$trace, "expected"), expected, t$expected)
  same(paste(t$trace, "p"), sum(chance[(both + 1):length(chance)]), t$p)
}
cat(checked, "numbers recomputed,", bad, "differ\n")
quit(status = as.integer(bad > 0))
