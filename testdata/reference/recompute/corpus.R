# Fits the pooled model of a corpus anew from its exported tables, and recomputes what
# is pooled over its folders:
#   Rscript corpus.R RESULTS
# RESULTS is the folder of results of a corpus whose model “pictures” has the fixed
# effects picture and kind, and books and their quires as random ones. Prints as live.R
# does; the mixed model is fitted by lme4 (Bates, Mächler, Bolker and Walker 2015,
# J. Stat. Softw. 67, 1–48).
suppressMessages(library(lme4))
args <- commandArgs(TRUE)
read <- function(name) read.csv(file.path(args[1], "tables", paste0(name, ".csv")), check.names = FALSE,
                                encoding = "UTF-8", na.strings = "", stringsAsFactors = FALSE)
failed <- FALSE
hold <- function(kind, now, was, tolerance) {
  off <- if (length(now) != length(was) || any(is.na(now)) || !length(was)) Inf else max(abs(now - was) / pmax(1e-6, abs(was)))
  bad <- !(off <= tolerance)
  failed <<- failed || bad
  cat(sprintf("%s\t%d\t%.2g\t%s\n", kind, length(was), off, if (bad) "DIFFERS" else "agrees"))
}
pages <- read("pages"); books <- read("books"); models <- read("models"); fixed <- read("fixed_effects"); random <- read("random_effects")
levels <- unique(sub("^kind=", "", grep("^kind=", fixed$term, value = TRUE)))
pages$kind <- factor(pages$kind, c(setdiff(unique(na.omit(pages$kind)), levels), levels))
pages$picture <- factor(pages$picture, c("no", "yes"))
rows <- pages[complete.cases(pages[c("wear", "picture", "kind", "book", "quire")]), ]
fit <- lmer(wear ~ picture + kind + (1 | book) + (1 | book:quire), rows, control = lmerControl(optCtrl = list(xtol_abs = 1e-12, ftol_abs = 1e-12)))
own <- function(table) table[table$model == "pictures", ]
terms <- c("(Intercept)", "pictureyes", paste0("kind", levels)) # in the words of R
names(terms) <- c("intercept", "picture=yes", paste0("kind=", levels))
hold("pages that the model took", nrow(rows), own(models)$n, 0)
hold("fixed effects, fitted anew", unname(fixef(fit)[terms[own(fixed)$term]]), own(fixed)$estimate, 1e-5)
hold("restricted log likelihood, fitted anew", as.numeric(logLik(fit)), own(models)$loglik, 1e-7)
hold("residual spread, fitted anew", sigma(fit), own(models)$residual_sd, 1e-5)
spread <- as.data.frame(VarCorr(fit))
groups <- c(book = "book", "quire within book" = "book:quire", row = "Residual")
hold("spreads of books, quires and pages, fitted anew", spread$sdcor[match(groups[own(random)$by], spread$grp)], own(random)$sd, 1e-5)
mean_wear <- tapply(pages$wear[is.na(pages$limit)], pages$book[is.na(pages$limit)], mean)
hold("mean wear of a book", unname(mean_wear[books$book]), books$wear, 1e-9)
folders <- books[!duplicated(books$folder) & books$repeatability_df > 0, ]
precision <- read("precision")
value <- function(name) precision$value[precision$name == name]
hold("pooled repeatability", sqrt(sum(folders$repeatability^2 * folders$repeatability_df) / sum(folders$repeatability_df)), value("repeatability"), 1e-9)
hold("folders that it is pooled over", nrow(folders), value("folders"), 0)
quit(status = as.integer(failed))
