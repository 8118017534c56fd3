# Reference values for models/traces, from packages of Debian's R (r-cran-psych,
# r-cran-vcd). Run in this folder: Rscript agreement.R
library(psych)
library(vcd)

# Cohen (1968), table 1, as the documentation of psych::cohen.kappa has it: three
# diagnoses of 200 patients, with weights of disagreement.
cohen <- matrix(c(88, 14, 18, 10, 40, 10, 2, 6, 12), 3, byrow = TRUE)
cost <- matrix(c(0, 1, 3, 1, 0, 6, 3, 6, 0), 3)
weighted <- cohen.kappa(cohen, w = 1 - cost / max(cost))

# Sexual fun (Agresti 1990, table 2.10; vcd::SexualFun): husbands against wives, four
# grades; kappa with squared and with linear weights, standard errors after Fleiss,
# Cohen and Everitt (1969).
squared <- Kappa(SexualFun, weights = "Fleiss-Cohen")
linear <- Kappa(SexualFun, weights = "Equal-Spacing")

# MSPatients (Westlund and Kurland 1953; vcd): two neurologists, four grades of
# certainty, patients of Winnipeg.
winnipeg <- Kappa(MSPatients[, , "Winnipeg"], weights = "Fleiss-Cohen")

row <- function(of, kappa, se) data.frame(of = of, kappa = sprintf("%.15g", kappa), se = sprintf("%.15g", se))
write.csv(rbind(
  row("cohen weighted", weighted$weighted.kappa, NA),
  row("cohen unweighted", weighted$kappa, NA),
  row("fun squared", squared$Weighted[["value"]], squared$Weighted[["ASE"]]),
  row("fun linear", linear$Weighted[["value"]], linear$Weighted[["ASE"]]),
  row("fun unweighted", squared$Unweighted[["value"]], squared$Unweighted[["ASE"]]),
  row("winnipeg squared", winnipeg$Weighted[["value"]], winnipeg$Weighted[["ASE"]])),
  "agreement.csv", row.names = FALSE, quote = FALSE)
table <- function(name, x) data.frame(of = name, row = rep(seq_len(nrow(x)), ncol(x)), column = rep(seq_len(ncol(x)), each = nrow(x)), n = as.vector(x))
write.csv(rbind(table("fun", unclass(SexualFun)), table("winnipeg", unclass(MSPatients[, , "Winnipeg"]))), "tables.csv", row.names = FALSE, quote = FALSE)
writeLines(c(R.version.string, paste("psych", packageVersion("psych")), paste("vcd", packageVersion("vcd"))), "versions.txt")
