# Writes the endometrial cancer data of Heinze and Schemper (2002, Statistics in
# Medicine 21, 2409-2419), in which neovasculation separates the histology grades,
# and its fit by Firth's penalised likelihood (brglm2), as separation.json.
#
#   Rscript make-separation.R
#
# Needs Debian's r-cran-brglm2 r-cran-jsonlite.
suppressPackageStartupMessages({ library(brglm2); library(jsonlite) })
here <- sub("^--file=", "", grep("^--file=", commandArgs(FALSE), value = TRUE))
if (length(here)) setwd(dirname(here))
data(endometrial)
write.csv(endometrial, "endometrial.csv", row.names = FALSE, quote = FALSE)
fits <- lapply(c("logit", "probit", "cloglog"), function(link) {
  fit <- glm(HG ~ NV + PI + EH, data = endometrial, family = binomial(link), method = "brglmFit", type = "MPL_Jeffreys", epsilon = 1e-12, maxit = 10000)
  list(link = c(logit = "logit", probit = "probit", cloglog = "complementary log-log")[[link]], loglik = as.numeric(logLik(fit)), names = names(coef(fit)), estimate = unname(coef(fit)), se = unname(coef(summary(fit))[, 2]))
})
writeLines(toJSON(list(brglm2 = as.character(packageVersion("brglm2")), R = R.version.string, fits = fits), auto_unbox = TRUE, digits = NA, pretty = TRUE), "separation.json")
