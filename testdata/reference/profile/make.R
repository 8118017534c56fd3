# Reference values for the wear curve, made by a general statistics library on
# an open data set: the annual flow of the Nile at Aswan, 1871-1970, 10^8 m^3
# (Cobb 1978; in R as datasets::Nile). Run: Rscript make.R
suppressMessages(library(mgcv))
y <- as.numeric(Nile); n <- length(y); x <- 1:n
D <- diff(diag(n), differences = 2); K <- crossprod(D)
wr <- function(d, f) {
  text <- format(d, digits = 12, trim = TRUE)
  text[is.na(d)] <- ""
  write.csv(text, f, row.names = FALSE, quote = FALSE)
}
num <- function(name, value) data.frame(name = name, value = value)

# 1. Whole series, no error of measuring: second-difference penalty, REML.
X <- diag(n)
g <- gam(y ~ X - 1, paraPen = list(X = list(K, rank = n - 2)), method = "REML")
p <- predict(g, se.fit = TRUE)
wr(data.frame(place = x, value = y, level = p$fit, se = p$se.fit), "nile-whole.csv")
whole <- rbind(num("scatter", sqrt(g$sig2)), num("bend", sqrt(g$sig2 / g$sp)), num("edf", sum(g$edf)))

# 2. The same as a natural cubic spline with a knot at every year.
s <- gam(y ~ s(x, bs = "cr", k = n), method = "REML")
q <- predict(s, se.fit = TRUE)
wr(data.frame(place = x, value = y, level = q$fit, se = q$se.fit), "nile-spline.csv")

# 3. Gaps, and an error of measuring of its own for each year (ours: 30, 60,
#    90, 120 in turn). mgcv finds the bend at a given scatter (variances known,
#    scale 1; the bends enter as a square root of their covariance with the
#    straight line taken out, since it is free); a line search finds the scatter.
keep <- setdiff(x, c(5, 30:41, 60, 77:79)); m <- length(keep)
e <- c(30, 60, 90, 120)[(keep %% 4) + 1]
L <- t(D) %*% solve(D %*% t(D))
d <- data.frame(y = y[keep], x = keep)
H <- cbind(1, keep); M <- diag(m) - H %*% solve(crossprod(H), t(H))
E <- eigen(M %*% tcrossprod(L[keep, ]) %*% M, symmetric = TRUE)
Z <- E$vectors[, 1:(m - 2)] %*% diag(sqrt(E$values[1:(m - 2)]))
at <- function(tau) {
  w <- 1 / (tau^2 + e^2)
  gam(y ~ x + Z, data = d, paraPen = list(Z = list(diag(m - 2))), method = "REML", weights = w, scale = 1,
    control = gam.control(epsilon = 1e-11, newton = list(conv.tol = 1e-10)))
}
tau <- optimize(function(t) at(t)$gcv.ubre, c(60, 200), tol = 1e-7)$minimum
bend <- as.numeric(1 / sqrt(at(tau)$sp))
# The level and its variance at those sizes, by dense algebra.
V <- diag(tau^2 + e^2); S <- matrix(0, length(keep), n); S[cbind(seq_along(keep), keep)] <- 1
A <- t(S) %*% solve(V) %*% S + K / bend^2
C <- solve(A); z <- C %*% t(S) %*% solve(V) %*% d$y
dense <- function(tau, bend) { # restricted log likelihood from its definition
  Vy <- diag(tau^2 + e^2) + bend^2 * tcrossprod(L[keep, ]); Xf <- cbind(1, keep)
  Vi <- solve(Vy); XVX <- t(Xf) %*% Vi %*% Xf; b <- solve(XVX, t(Xf) %*% Vi %*% d$y); r <- d$y - Xf %*% b
  -0.5 * ((length(keep) - 2) * log(2 * pi) + determinant(Vy)$modulus + determinant(XVX)$modulus + t(r) %*% Vi %*% r)
}
o <- optim(log(c(tau, bend)), function(t) -dense(exp(t[1]), exp(t[2])), method = "BFGS", control = list(reltol = 1e-14))
cat("mgcv:", tau, bend, -at(tau)$gcv.ubre, "dense there:", dense(tau, bend), "dense optimum:", exp(o$par), -o$value, "\n")
full <- rep(NA, n); full[keep] <- d$y; fe <- rep(NA, n); fe[keep] <- e
wr(data.frame(place = x, value = full, error = fe, level = as.numeric(z), se = sqrt(diag(C))), "nile-gaps.csv")
gaps <- rbind(num("scatter", tau), num("bend", bend), num("edf", sum(diag(S %*% C %*% t(S) %*% solve(V)))), num("loglik", -o$value))

wr(rbind(transform(whole, case = "whole"), transform(gaps, case = "gaps")), "nile-sizes.csv")
writeLines(c(R.version.string, paste("mgcv", packageVersion("mgcv"))), "VERSIONS")

# Adjusted p-values of the fifteen of Benjamini and Hochberg (1995), section 4.1.
p <- c(.0001, .0004, .0019, .0095, .0201, .0278, .0298, .0344, .0459, .3240, .4262, .5719, .6528, .7590, 1)
wr(data.frame(p = p, bh = p.adjust(p, "BH")), "adjusted.csv")
