# Times one piece of work by a reference library: prints JSON with the median
# seconds of REPEATS runs. Peak memory is measured from outside.
#
#   Rscript race.R WORK FOLDER REPEATS
suppressPackageStartupMessages({ library(lme4); library(nlme) })
arguments <- commandArgs(TRUE)
work <- arguments[1]; folder <- arguments[2]; repeats <- as.integer(arguments[3])
read <- function(name, factors) {
  d <- read.csv(file.path(folder, name))
  for (k in factors) d[[k]] <- factor(d[[k]])
  d
}
jobs <- list(
  sleepstudy = function() lmer(Reaction ~ Days + (Days | Subject), d),
  penicillin = function() lmer(diameter ~ 1 + (1 | plate) + (1 | sample), d),
  insteval = function() lmer(y ~ service + (1 | s) + (1 | d) + (1 | dept), d),
  corpus = function() lmer(wear ~ picture + (picture | book) + (1 | book:quire), d),
  bootstrap = function() bootMer(fit, fixef, nsim = 1000, seed = 1),
  ovary = function() lme(follicles ~ sine + cosine, d, ~ 1 | Mare, correlation = corCAR1(form = ~ Time | Mare)))
d <- switch(work,
  sleepstudy = , bootstrap = read("sleepstudy.csv", "Subject"),
  penicillin = read("Penicillin.csv", c("plate", "sample")),
  insteval = read("InstEval.csv", c("s", "d", "dept", "service")),
  corpus = read("corpus.csv", c("book", "quire", "picture")),
  ovary = read("Ovary.csv", "Mare"))
if (work == "bootstrap") fit <- lmer(Reaction ~ Days + (Days | Subject), d)
job <- jobs[[work]]
if (repeats > 2) invisible(job()) # warm
seconds <- numeric(repeats)
for (k in seq_len(repeats)) seconds[k] <- system.time(suppressWarnings(suppressMessages(job())))[["elapsed"]]
# short work is timed in a loop, since the clock ticks in milliseconds
if (median(seconds) < 0.05) {
  for (k in seq_len(repeats)) seconds[k] <- system.time(for (i in 1:10) suppressWarnings(suppressMessages(job())))[["elapsed"]] / 10
}
cat(sprintf('{"seconds": %.9g}\n', median(seconds)))
