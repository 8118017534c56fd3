# Reference values for models/readings, from packages of Debian's R.
# Run in this folder: Rscript reference.R
library(survival)
library(lme4)

# Means of normal values of known standard deviation, some only known to lie
# beyond a limit (Tobin 1958; Cohen 1959). The durable goods of Tobin (1958),
# survival::tobin, stand at 0 as their floor; its ages are censored at 50 from
# above here, to have the other side too.
fit <- function(value, limit, sd) {
  # interval form: NA on the open side
  low  <- ifelse(limit == "below", NA, value)
  high <- ifelse(limit == "above", NA, value)
  m <- survreg(Surv(low, high, type = "interval2") ~ 1, dist = "gaussian", scale = sd,
               control = list(rel.tolerance = 1e-14, maxiter = 200))
  c(mean = unname(coef(m)), se = sqrt(vcov(m)[1, 1]))
}
cases <- rbind(
  data.frame(case = "durables", value = tobin$durable, limit = ifelse(tobin$durable == 0, "below", ""), sd = 5),
  data.frame(case = "durables close", value = tobin$durable, limit = ifelse(tobin$durable == 0, "below", ""), sd = 2),
  data.frame(case = "ages", value = pmin(tobin$age, 50), limit = ifelse(tobin$age >= 50, "above", ""), sd = 8),
  data.frame(case = "both sides", value = c(2, 2, 1.95, 0, 1.7), limit = c("above", "above", "", "below", ""), sd = 0.3)
)
results <- do.call(rbind, lapply(unique(cases$case), function(k) {
  d <- cases[cases$case == k, ]
  r <- fit(d$value, d$limit, d$sd[1])
  data.frame(case = k, sd = d$sd[1], mean = r["mean"], se = r["se"])
}))
write.csv(cases, "censored.csv", row.names = FALSE, quote = FALSE)
write.csv(format(results, digits = 15), "censored-results.csv", row.names = FALSE, quote = FALSE)

# The two dyestuff sets (Davies and Goldsmith 1972, section 6.4; the
# second of Box and Tiao 1973, section 5.1.2): five preparations of each of six batches, a
# one-way layout, the second with a negative estimate between batches.
oneway <- function(d) {
  a <- anova(lm(Yield ~ Batch, d))
  within <- a["Residuals", "Mean Sq"]
  between <- (a["Batch", "Mean Sq"] - within) / 5
  c(within = sqrt(within), between = sqrt(max(0, between)), raw = between)
}
yields <- rbind(data.frame(set = "Dyestuff", Dyestuff), data.frame(set = "Dyestuff2", Dyestuff2))
write.csv(yields, "dyestuff.csv", row.names = FALSE, quote = FALSE)
ow <- rbind(oneway(Dyestuff), oneway(Dyestuff2))
write.csv(format(data.frame(set = c("Dyestuff", "Dyestuff2"), ow), digits = 15), "dyestuff-results.csv", row.names = FALSE, quote = FALSE)

# A drift line: least squares on R's own data set cars is not of the trade, but
# its regression is published with R.
m <- summary(lm(dist ~ speed, cars))
write.csv(cars, "line.csv", row.names = FALSE)
write.csv(format(data.frame(slope = coef(m)[2, 1], se = coef(m)[2, 2], p = coef(m)[2, 4], sigma = m$sigma,
  first = predict(lm(dist ~ speed, cars), data.frame(speed = min(cars$speed))),
  mid_se = predict(lm(dist ~ speed, cars), data.frame(speed = (min(cars$speed) + max(cars$speed)) / 2), se.fit = TRUE)$se.fit), digits = 15),
  "line-results.csv", row.names = FALSE, quote = FALSE)

# The crossed gauge study of Davies and Goldsmith (1972, section 6.6), lme4's
# Penicillin: six samples on each of 24 plates. Plates stand for pages, samples for
# observers. Every fifth row and one sample on half of the plates are left out, so
# that the layout is unbalanced; plates are fixed.
d <- Penicillin
d$row <- seq_len(nrow(d))
d <- d[d$row %% 5 != 0 & !(d$sample == "F" & as.integer(d$plate) > 12), ]
crossed <- function(d) {
  m <- lmer(diameter ~ plate + (1 | sample), d, control = lmerControl(optCtrl = list(xtol_abs = 1e-12, ftol_abs = 1e-14)))
  list(sd = c(sample = unname(attr(VarCorr(m)$sample, "stddev")), residual = sigma(m)), offset = ranef(m)$sample[, 1])
}
write.csv(d[, c("diameter", "plate", "sample")], "crossed.csv", row.names = FALSE, quote = FALSE)
m <- crossed(d)
write.csv(format(data.frame(sample = levels(d$sample), offset = m$offset, between = m$sd["sample"], residual = m$sd["residual"]), digits = 15),
  "crossed-results.csv", row.names = FALSE, quote = FALSE)

sink("versions.txt")
cat("Written by reference.R with R", as.character(getRversion()), "\n")
for (p in c("survival", "lme4")) cat(p, as.character(packageVersion(p)), "\n")
