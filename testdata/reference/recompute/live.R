# Recomputes numbers of a study's page from its exported tables, in another language:
#   Rscript live.R RESULTS SOLID
# RESULTS is a folder of results, SOLID the density of solid deposit that the study
# states. For each kind of number it prints how many were compared and the largest
# difference, as a part of the larger of 1e-6 and the number; a kind that differs by more
# than its tolerance ends the script with status 1. Base R.
args <- commandArgs(TRUE)
solid <- as.numeric(args[2])
read <- function(name) read.csv(file.path(args[1], "tables", paste0(name, ".csv")), check.names = FALSE,
                                encoding = "UTF-8", na.strings = "", stringsAsFactors = FALSE)
failed <- FALSE
hold <- function(kind, now, was, tolerance = 1e-8) {
  both <- !is.na(was)
  off <- if (any(is.na(now[both])) || !any(both)) Inf else max(abs(now[both] - was[both]) / pmax(1e-6, abs(was[both])))
  bad <- !(off <= tolerance)
  failed <<- failed || bad
  cat(sprintf("%s\t%d\t%.2g\t%s\n", kind, sum(both), off, if (bad) "DIFFERS" else "agrees"))
}
same <- function(kind, now, was) hold(kind, as.numeric(now == was), rep(1, length(was)))
half <- function(df, level = 0.05) qt(1 - level / 2, df)
inf <- function(df) ifelse(is.na(df), Inf, df) # an infinite number stands as an empty cell

# pages that were tested for standing out
tests <- read("tests")
hold("p of every page tested", pt(tests$excess / tests$excess_sd, inf(tests$df), lower.tail = FALSE), tests$p)
hold("q of every page tested", ave(tests$p, tests$book, FUN = function(p) p.adjust(p, "BH")), tests$q)
# pages that stand out have intervals at the level of those selected (Benjamini and Yekutieli 2005)
stands <- tests$q <= tests$limit
selected <- ifelse(stands, ave(as.numeric(stands), tests$book), 1)
hold("interval of an excess", tests$excess - half(inf(tests$df), 0.05 * selected) * tests$excess_se, tests$low)
standouts <- read("standouts")
same("pages that stand out", paste(tests$book, tests$page)[tests$q <= tests$limit], paste(standouts$book, standouts$page))

# wear, coverage and areas
wear <- read("wear")
number <- is.na(wear$limit) & wear$wear > 0
hold("area coverage", (1 - 10^-wear$wear[number]) / (1 - 10^-solid), wear$coverage[number])
hold("standard error of coverage", log(10) * 10^-wear$wear[number] * wear$wear_se[number] / (1 - 10^-solid), wear$coverage_se[number])
sections <- all_sections <- read("sections")
key <- function(t) paste(t$book, t$section, t$set, t$office)
of <- split(wear$in_area, key(wear))
sections <- sections[!duplicated(key(sections)) & !duplicated(key(sections), fromLast = TRUE), ]
hold("pages measured of a text", as.numeric(lengths(of)[key(sections)]), sections$measured)
hold("wear per page of a text", sapply(of, mean)[key(sections)], sections$per_page)
hold("area of a text", sections$per_page * sections$pages, sections$total)
hold("standard error of an area", sections$per_page_se * sections$pages, sections$total_se)
hold("interval of an area", sections$total + half(inf(sections$df)) * sections$total_se, sections$total_high)

# offices, their order and what changes along them
offices <- read("offices")
# what is claimed unasked shares 5 % out: of each book its habits, its ranking and the pages
# that stand out, of each set of hours its changes and its last office; pairs of readers
pairs <- read("reader_pairs")
hours <- unique(all_sections[!is.na(all_sections$office), c("book", "set")])
shares <- 3 * length(unique(wear$book)) + 2 * nrow(hours) + (nrow(pairs) > 0)
hold("limit of a page without a picture", rep(0.05 / shares, sum(tests$picture == "no")), tests$limit[tests$picture == "no"])
same("limit of a picture", abs(tests$limit - 0.05 / shares) < 1e-12 | tests$limit == 0.05, rep(TRUE, nrow(tests)))
hold("limit of the pages of a book, alike", ave(tests$limit, tests$book, tests$picture), tests$limit)
first <- ave(offices$wear, offices$book, offices$set, FUN = function(w) w[1])
hold("share of the first office", offices$wear / first, ifelse(offices$order == 1, 1, offices$share))
adjusted <- read("adjusted"); levels <- read("levels")
ends <- paste(adjusted$book, adjusted$set, adjusted$row)
hold("pages between changes", as.numeric(match(paste(levels$book, levels$set, levels$to), ends) - match(paste(levels$book, levels$set, levels$from), ends)), levels$to - levels$from)
same("first page of a level", adjusted$page[match(paste(levels$book, levels$set, levels$from), ends)], levels$first_page)
changes <- read("changes")
hold("size of a change", changes$afterwards - changes$before, changes$size)
differences <- read("reader_differences")
at <- function(book, set, office) offices$share[match(paste(book, set, office), paste(offices$book, offices$set, offices$office))]
hold("difference of two readers", at(differences$one_book, differences$one_set, differences$office) - at(differences$other_book, differences$other_set, differences$office), differences$difference)
hold("p of two readers", pf(pairs$f, pairs$df1, pairs$df2, lower.tail = FALSE), pairs$p)
hold("p of two readers, adjusted", pmin(1, p.adjust(pairs$p, "holm") * shares), pairs$p_adjusted)

# models
fixed <- read("fixed_effects")
hold("t of a fixed effect", fixed$estimate / fixed$se, fixed$t)
hold("p of a fixed effect", 2 * pt(-abs(fixed$t), inf(fixed$df)), fixed$p, 1e-6)
hold("interval of a fixed effect", fixed$estimate + half(inf(fixed$df)) * fixed$se, fixed$high)
models <- read("models"); took <- read("model_pages"); pages <- read("pages")
fits <- function(t) paste(t$model, if (is.null(t$fit)) t$book else t$fit)
hold("pages that a fit took", as.numeric(table(fits(took))[fits(models)]), models$n)
random <- read("random_effects")
# what pages share of an error: the shares of each label, a matrix of pages by labels
loadings <- function(texts) {
  parts <- strsplit(ifelse(is.na(texts), "", texts), " + ", fixed = TRUE)
  of <- lapply(parts, function(p) strsplit(p, " × ", fixed = TRUE))
  labels <- unique(unlist(lapply(of, function(p) sapply(p, `[`, 1))))
  out <- matrix(0, length(texts), length(labels), dimnames = list(NULL, labels))
  for (i in seq_along(of)) for (p in of[[i]]) out[i, p[1]] <- if (length(p) > 1) as.numeric(p[2]) else 1
  out
}
errors <- read("shared_errors")
# a mixed model by restricted likelihood, with what is shared known
refit <- function(y, X, Z, known) {
  deviance <- function(log_sd, all = FALSE) {
    V <- known + diag(exp(2 * log_sd[1]), length(y)) + exp(2 * log_sd[2]) * tcrossprod(Z)
    R <- chol(V); x <- backsolve(R, X, transpose = TRUE); v <- backsolve(R, y, transpose = TRUE)
    q <- qr(x); b <- qr.coef(q, v)
    d <- 2 * sum(log(diag(R))) + 2 * sum(log(abs(diag(qr.R(q))))) + sum((v - x %*% b)^2) + (length(y) - ncol(X)) * log(2 * pi)
    if (all) list(b = b, loglik = -d / 2, sd = exp(log_sd[1])) else d
  }
  best <- optim(log(c(sd(y) / 2, sd(y) / 4)), deviance, control = list(reltol = 1e-15, maxit = 4000))
  best <- optim(best$par, deviance, control = list(reltol = 1e-15, maxit = 4000))
  deviance(best$par, TRUE)
}
estimates <- logs <- spreads <- list(now = NULL, was = NULL)
for (k in which(models$model == "evening")) {
  mine <- took[fits(took) == fits(models[k, ]), ]
  rows <- pages[match(paste(mine$book, mine$page), paste(pages$book, pages$page)), ]
  known <- matrix(0, nrow(rows), nrow(rows))
  for (e in which(errors$known == "yes")) known <- known + errors$sd[e]^2 * tcrossprod(loadings(rows[[paste0(errors$by[e], "_offset")]]))
  X <- cbind(1, rows$office_order, rows$picture == "yes", rows$facing == "yes")
  fit <- refit(rows$wear, X, model.matrix(~ 0 + factor(quire), rows), known)
  own <- fixed[fixed$model == "evening" & fixed$book == models$book[k], ]
  estimates <- list(now = c(estimates$now, fit$b), was = c(estimates$was, own$estimate))
  logs <- list(now = c(logs$now, fit$loglik), was = c(logs$was, models$loglik[k]))
  spreads <- list(now = c(spreads$now, fit$sd), was = c(spreads$was, models$residual_sd[k]))
}
hold("fixed effects, fitted anew", estimates$now, estimates$was, 1e-4)
hold("restricted log likelihood, fitted anew", logs$now, logs$was, 1e-7)
hold("residual spread, fitted anew", spreads$now, spreads$was, 1e-4)

# answers
answers <- read("answers")
sided <- function(a, t) ifelse(a$direction == "more", pt(t, inf(a$df), lower.tail = FALSE),
  ifelse(a$direction == "less", pt(t, inf(a$df)), 2 * pt(-abs(t), inf(a$df))))
hold("p of an answer", sided(answers, answers$estimate / answers$se), answers$p, 1e-6)
hold("interval of an answer", answers$estimate - half(inf(answers$df), answers$level) * answers$se, answers$low, 1e-6)
yes <- with(answers, ifelse(direction == "more", low > 0, ifelse(direction == "less", high < 0, low > 0 | high < 0)))
no <- with(answers, smallest > 0 & ifelse(direction == "more", high < smallest, ifelse(direction == "less", low > -smallest, low > -smallest & high < smallest)))
claimed <- answers$verdict != "open" # open stays what no other interval bears out
same("verdict of an answer", ifelse(yes, "yes", ifelse(no, "no", "open"))[claimed], answers$verdict[claimed])
robust <- read("robustness")
plain <- !is.na(robust$estimate)
robust$direction <- answers$direction[match(robust$question, answers$question)]
hold("p under another choice", sided(robust[plain, ], (robust$estimate / robust$se)[plain]), robust$p[plain], 1e-6)

# measuring
drift <- read("drift")
hold("p of a day's drift", 2 * pt(-abs(drift$slope / drift$slope_se), inf(drift$df)), drift$p)
precision <- read("precision")
value <- function(name) precision$value[match(name, precision$name)]
hold("pages with readings", nrow(wear), value("pages"))
hold("pooled repeatability", sqrt((value("on_page")^2 * value("on_page_df") + value("on_zero")^2 * value("on_zero_df")) / (value("on_page_df") + value("on_zero_df"))), value("repeatability"), 1e-6)
places <- read("shared_places")
hold("probabilities of a shared drop", as.numeric(tapply(places$probability, places$set, sum)), rep(1, length(unique(places$set))))
quit(status = as.integer(failed))
