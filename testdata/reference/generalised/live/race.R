# Times one piece of work by a reference library: prints JSON with the median seconds
# of REPEATS runs.
#
#   Rscript race.R WORK FOLDER REPEATS
suppressPackageStartupMessages({ library(lme4); library(ordinal); library(glmmTMB) })
arguments <- commandArgs(TRUE)
work <- arguments[1]; folder <- arguments[2]; repeats <- as.integer(arguments[3])
read <- function(name) {
  d <- read.csv(file.path(folder, name), stringsAsFactors = TRUE)
  for (k in intersect(names(d), c("period", "herd", "BROOD", "INDEX", "LOCATION", "YEAR", "id", "item", "book", "part"))) d[[k]] <- factor(d[[k]])
  d
}
verb <- function() { d <- read("VerbAgg.csv"); d$resp <- factor(d$resp, c("no", "perhaps", "yes"), ordered = TRUE); d }
million <- function() { d <- read("million.csv"); d$touched <- as.integer(d$touched == "yes"); d }
d <- switch(work, cbpp = read("cbpp.csv"), verbagg.glmmTMB = , verbagg.lme4 = , verbagg.grades = verb(),
  soup = { s <- read("soup.csv"); s$SURENESS <- factor(s$SURENESS, ordered = TRUE); s$pair <- interaction(s$RESP, s$PROD, drop = TRUE); s },
  grouseticks = read("grouseticks.csv"), million = million())
job <- switch(work,
  cbpp = function() glmer(cbind(incidence, size - incidence) ~ period + (1 | herd), d, binomial, nAGQ = 9),
  verbagg.glmmTMB = function() glmmTMB(r2 ~ Anger + Gender + btype + situ + (1 | id) + (1 | item), d, binomial),
  verbagg.lme4 = function() glmer(r2 ~ Anger + Gender + btype + situ + (1 | id) + (1 | item), d, binomial),
  verbagg.grades = function() clmm(resp ~ Anger + Gender + btype + situ + (1 | id) + (1 | item), data = d),
  soup = function() clmm(SURENESS ~ PROD + (1 | RESP) + (1 | pair), data = d),
  grouseticks = function() glmer(TICKS ~ YEAR + height + (1 | BROOD) + (1 | INDEX) + (1 | LOCATION), d, poisson),
  million = function() glmmTMB(touched ~ part + (1 | book), d, binomial))
if (repeats > 2) invisible(suppressWarnings(suppressMessages(job())))
seconds <- numeric(repeats)
for (k in seq_len(repeats)) seconds[k] <- system.time(suppressWarnings(suppressMessages(job())))[["elapsed"]]
cat(sprintf('{"seconds": %.9g}\n', median(seconds)))
