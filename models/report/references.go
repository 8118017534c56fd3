package report

import (
	"fmt"
	"slices"
	"strings"

	"thumbed/models/wording"
)

// A Reference is a work that the methods rest on. Fields that a work does not
// have are empty. Volume to Pages are as printed; ranges have an en dash.
type Reference struct {
	Key     string // short, as the text cites it: "Holm 1979"
	Kind    Kind
	Authors []Author // none for a standard
	Title   string   // with the capitals that it has in a sentence
	In      string   // the journal, or the proceedings
	Volume  string
	Number  string // of the issue, or of a standard
	Year    string
	Pages   string // or "article 39"
	Part    string // the part that is meant: "section 3"
	Press   string // publisher
	Place   string // of the press
	DOI     string
}

// An Author is one of a work's.
type Author struct{ Given, Family string }

// A Kind of work tells how it was published.
type Kind int

// The kinds of works.
const (
	Article Kind = iota
	Book
	Paper    // in proceedings
	Standard // of the International Organization for Standardization
)

// Text is the work as a list of works has it.
func (w Reference) Text() string {
	var authors []string
	for _, a := range w.Authors {
		authors = append(authors, a.Given+" "+a.Family)
	}
	head := wording.List(authors) + ", "
	var out string
	switch w.Kind {
	case Article:
		volume := w.Volume
		if w.Number != "" {
			volume += "." + w.Number
		}
		out = fmt.Sprintf("%s“%s”, %s %s (%s), %s", head, w.Title, w.In, volume, w.Year, w.Pages)
	case Paper:
		out = fmt.Sprintf("%s“%s”, %s (%s, %s), %s", head, w.Title, w.In, w.Place, w.Year, w.Pages)
	case Book:
		out = fmt.Sprintf("%s%s (%s: %s, %s)", head, w.Title, w.Place, w.Press, w.Year)
	case Standard:
		out = fmt.Sprintf("%s:%s, %s", w.Number, w.Year, w.Title)
	}
	for _, more := range []string{w.Part, strings.TrimSuffix("doi:"+w.DOI, "doi:")} {
		if more != "" {
			out += ", " + more
		}
	}
	return out + "."
}

// Works are all works that the text of a report may name, by their keys.
func Works() []Reference { return slices.Clone(references) }

// royalSociety is the journal of that name and series.
const royalSociety = "Journal of the Royal Statistical Society, Series B"

// The works cited, in the order in which they are listed. A DOI stands where it
// was checked.
var references = []Reference{
	{Key: "Ayer and others 1955", Kind: Article, Authors: []Author{{"M.", "Ayer"}, {"H. D.", "Brunk"}, {"G. M.", "Ewing"}, {"W. T.", "Reid"}, {"E.", "Silverman"}},
		Title: "An empirical distribution function for sampling with incomplete information", In: "Annals of Mathematical Statistics", Volume: "26", Number: "4", Year: "1955", Pages: "641–647", DOI: "10.1214/aoms/1177728423"},
	{Key: "Bates and others 2015", Kind: Article, Authors: []Author{{"D.", "Bates"}, {"M.", "Mächler"}, {"B.", "Bolker"}, {"S.", "Walker"}},
		Title: "Fitting linear mixed-effects models using lme4", In: "Journal of Statistical Software", Volume: "67", Number: "1", Year: "2015", Pages: "1–48", Part: "section 3", DOI: "10.18637/jss.v067.i01"},
	{Key: "Benjamini and Bogomolov 2014", Kind: Article, Authors: []Author{{"Y.", "Benjamini"}, {"M.", "Bogomolov"}},
		Title: "Selective inference on multiple families of hypotheses", In: royalSociety, Volume: "76", Number: "1", Year: "2014", Pages: "297–318", DOI: "10.1111/rssb.12028"},
	{Key: "Benjamini and Hochberg 1995", Kind: Article, Authors: []Author{{"Y.", "Benjamini"}, {"Y.", "Hochberg"}},
		Title: "Controlling the false discovery rate: a practical and powerful approach to multiple testing", In: royalSociety, Volume: "57", Number: "1", Year: "1995", Pages: "289–300", DOI: "10.1111/j.2517-6161.1995.tb02031.x"},
	{Key: "Benjamini and Yekutieli 2005", Kind: Article, Authors: []Author{{"Y.", "Benjamini"}, {"D.", "Yekutieli"}},
		Title: "False discovery rate-adjusted multiple confidence intervals for selected parameters", In: "Journal of the American Statistical Association", Volume: "100", Number: "469", Year: "2005", Pages: "71–81", DOI: "10.1198/016214504000001907"},
	{Key: "Bland and Altman 1986", Kind: Article, Authors: []Author{{"J. M.", "Bland"}, {"D. G.", "Altman"}},
		Title: "Statistical methods for assessing agreement between two methods of clinical measurement", In: "The Lancet", Volume: "327", Number: "8476", Year: "1986", Pages: "307–310", DOI: "10.1016/S0140-6736(86)90837-8"},
	{Key: "Carroll and others 2006", Kind: Book, Authors: []Author{{"R. J.", "Carroll"}, {"D.", "Ruppert"}, {"L. A.", "Stefanski"}, {"C. M.", "Crainiceanu"}},
		Title: "Measurement error in nonlinear models: a modern perspective", Place: "Boca Raton", Press: "Chapman and Hall/CRC", Year: "2006", Part: "chapters 4 and 5"},
	{Key: "Chung and Romano 2013", Kind: Article, Authors: []Author{{"E.", "Chung"}, {"J. P.", "Romano"}},
		Title: "Exact and asymptotically robust permutation tests", In: "The Annals of Statistics", Volume: "41", Number: "2", Year: "2013", Pages: "484–507", DOI: "10.1214/13-AOS1090"},
	{Key: "Cochran 1977", Kind: Book, Authors: []Author{{"W. G.", "Cochran"}},
		Title: "Sampling techniques", Place: "New York", Press: "Wiley", Year: "1977", Part: "theorems 2.2 and 13.9"},
	{Key: "Cohen 1959", Kind: Article, Authors: []Author{{"A. C.", "Cohen"}},
		Title: "Simplified estimators for the normal distribution when samples are singly censored or truncated", In: "Technometrics", Volume: "1", Number: "3", Year: "1959", Pages: "217–237"},
	{Key: "Cohen 1968", Kind: Article, Authors: []Author{{"J.", "Cohen"}},
		Title: "Weighted kappa: nominal scale agreement with provision for scaled disagreement or partial credit", In: "Psychological Bulletin", Volume: "70", Number: "4", Year: "1968", Pages: "213–220", DOI: "10.1037/h0026256"},
	{Key: "Cook and Stefanski 1994", Kind: Article, Authors: []Author{{"J. R.", "Cook"}, {"L. A.", "Stefanski"}},
		Title: "Simulation-extrapolation estimation in parametric measurement error models", In: "Journal of the American Statistical Association", Volume: "89", Number: "428", Year: "1994", Pages: "1314–1328", DOI: "10.1080/01621459.1994.10476871"},
	{Key: "Cox and Snell 1989", Kind: Book, Authors: []Author{{"D. R.", "Cox"}, {"E. J.", "Snell"}},
		Title: "Analysis of binary data", Place: "London", Press: "Chapman and Hall", Year: "1989", Part: "section 2.2"},
	{Key: "Davison and Hinkley 1997", Kind: Book, Authors: []Author{{"A. C.", "Davison"}, {"D. V.", "Hinkley"}},
		Title: "Bootstrap methods and their application", Place: "Cambridge", Press: "Cambridge University Press", Year: "1997", Part: "sections 4.4 and 5.2"},
	{Key: "Fearnhead 2006", Kind: Article, Authors: []Author{{"P.", "Fearnhead"}},
		Title: "Exact and efficient Bayesian inference for multiple changepoint problems", In: "Statistics and Computing", Volume: "16", Number: "2", Year: "2006", Pages: "203–213", DOI: "10.1007/s11222-006-8450-8"},
	{Key: "Fieller 1954", Kind: Article, Authors: []Author{{"E. C.", "Fieller"}},
		Title: "Some problems in interval estimation", In: royalSociety, Volume: "16", Number: "2", Year: "1954", Pages: "175–185", DOI: "10.1111/j.2517-6161.1954.tb00159.x"},
	{Key: "Fleiss, Cohen and Everitt 1969", Kind: Article, Authors: []Author{{"J. L.", "Fleiss"}, {"J.", "Cohen"}, {"B. S.", "Everitt"}},
		Title: "Large sample standard errors of kappa and weighted kappa", In: "Psychological Bulletin", Volume: "72", Number: "5", Year: "1969", Pages: "323–327", DOI: "10.1037/h0028106"},
	{Key: "Fuller 1987", Kind: Book, Authors: []Author{{"W. A.", "Fuller"}},
		Title: "Measurement error models", Place: "New York", Press: "Wiley", Year: "1987", Part: "section 2.2"},
	{Key: "Harter 1961", Kind: Article, Authors: []Author{{"H. L.", "Harter"}},
		Title: "Expected values of normal order statistics", In: "Biometrika", Volume: "48", Year: "1961", Pages: "151–165"},
	{Key: "Hennig 2007", Kind: Article, Authors: []Author{{"C.", "Hennig"}},
		Title: "Cluster-wise assessment of cluster stability", In: "Computational Statistics & Data Analysis", Volume: "52", Number: "1", Year: "2007", Pages: "258–271"},
	{Key: "Hochberg and Tamhane 1987", Kind: Book, Authors: []Author{{"Y.", "Hochberg"}, {"A. C.", "Tamhane"}},
		Title: "Multiple comparison procedures", Place: "New York", Press: "Wiley", Year: "1987", Part: "chapter 2 and appendix 3"},
	{Key: "Holm 1979", Kind: Article, Authors: []Author{{"S.", "Holm"}},
		Title: "A simple sequentially rejective multiple test procedure", In: "Scandinavian Journal of Statistics", Volume: "6", Number: "2", Year: "1979", Pages: "65–70"},
	{Key: "Hubert and Arabie 1985", Kind: Article, Authors: []Author{{"L.", "Hubert"}, {"P.", "Arabie"}},
		Title: "Comparing partitions", In: "Journal of Classification", Volume: "2", Number: "1", Year: "1985", Pages: "193–218", DOI: "10.1007/BF01908075"},
	{Key: "ISO 5-4", Kind: Standard, Number: "ISO 5-4", Year: "2009",
		Title: "Photography and graphic technology: density measurements. Part 4: geometric conditions for reflection density"},
	{Key: "ISO 5725-2", Kind: Standard, Number: "ISO 5725-2", Year: "2019",
		Title: "Accuracy (trueness and precision) of measurement methods and results. Part 2: basic method for the determination of repeatability and reproducibility of a standard measurement method"},
	{Key: "Kaufman and Rousseeuw 1990", Kind: Book, Authors: []Author{{"L.", "Kaufman"}, {"P. J.", "Rousseeuw"}},
		Title: "Finding groups in data: an introduction to cluster analysis", Place: "New York", Press: "Wiley", Year: "1990", Part: "chapters 2 and 3"},
	{Key: "Kenward and Roger 1997", Kind: Article, Authors: []Author{{"M. G.", "Kenward"}, {"J. H.", "Roger"}},
		Title: "Small sample inference for fixed effects from restricted maximum likelihood", In: "Biometrics", Volume: "53", Number: "3", Year: "1997", Pages: "983–997", DOI: "10.2307/2533558"},
	{Key: "Kramer 1956", Kind: Article, Authors: []Author{{"C. Y.", "Kramer"}},
		Title: "Extension of multiple range tests to group means with unequal numbers of replications", In: "Biometrics", Volume: "12", Number: "3", Year: "1956", Pages: "307–310"},
	{Key: "Krippendorff 2004", Kind: Book, Authors: []Author{{"K.", "Krippendorff"}},
		Title: "Content analysis: an introduction to its methodology", Place: "Thousand Oaks", Press: "Sage", Year: "2004", Part: "chapter 11"},
	{Key: "Linnet 1993", Kind: Article, Authors: []Author{{"K.", "Linnet"}},
		Title: "Evaluation of regression procedures for methods comparison studies", In: "Clinical Chemistry", Volume: "39", Number: "3", Year: "1993", Pages: "424–432", DOI: "10.1093/clinchem/39.3.424"},
	{Key: "Liu and others 2008", Kind: Article, Authors: []Author{{"Y.", "Liu"}, {"D. N.", "Hayes"}, {"A.", "Nobel"}, {"J. S.", "Marron"}},
		Title: "Statistical significance of clustering for high-dimension, low-sample size data", In: "Journal of the American Statistical Association", Volume: "103", Number: "483", Year: "2008", Pages: "1281–1293"},
	{Key: "Lotwick and Silverman 1982", Kind: Article, Authors: []Author{{"H. W.", "Lotwick"}, {"B. W.", "Silverman"}},
		Title: "Methods for analysing spatial processes of several types of points", In: royalSociety, Volume: "44", Number: "3", Year: "1982", Pages: "406–413", DOI: "10.1111/j.2517-6161.1982.tb01221.x"},
	{Key: "Maidstone and others 2017", Kind: Article, Authors: []Author{{"R.", "Maidstone"}, {"T.", "Hocking"}, {"G.", "Rigaill"}, {"P.", "Fearnhead"}},
		Title: "On optimal multiple changepoint algorithms for large data", In: "Statistics and Computing", Volume: "27", Number: "2", Year: "2017", Pages: "519–533", DOI: "10.1007/s11222-016-9636-3"},
	{Key: "McCullagh 1980", Kind: Article, Authors: []Author{{"P.", "McCullagh"}},
		Title: "Regression models for ordinal data", In: royalSociety, Volume: "42", Number: "2", Year: "1980", Pages: "109–142"},
	{Key: "Minka 2001", Kind: Paper, Authors: []Author{{"T. P.", "Minka"}},
		Title: "Expectation propagation for approximate Bayesian inference", In: "Proceedings of the 17th Conference on Uncertainty in Artificial Intelligence", Place: "San Francisco", Press: "Morgan Kaufmann", Year: "2001", Pages: "362–369"},
	{Key: "Murray 1936", Kind: Article, Authors: []Author{{"A.", "Murray"}},
		Title: "Monochrome reproduction in photoengraving", In: "Journal of the Franklin Institute", Volume: "221", Year: "1936", Pages: "721–744"},
	{Key: "Nychka 1988", Kind: Article, Authors: []Author{{"D.", "Nychka"}},
		Title: "Bayesian confidence intervals for smoothing splines", In: "Journal of the American Statistical Association", Volume: "83", Number: "404", Year: "1988", Pages: "1134–1143", DOI: "10.1080/01621459.1988.10478711"},
	{Key: "Patterson and Thompson 1971", Kind: Article, Authors: []Author{{"H. D.", "Patterson"}, {"R.", "Thompson"}},
		Title: "Recovery of inter-block information when block sizes are unequal", In: "Biometrika", Volume: "58", Number: "3", Year: "1971", Pages: "545–554", DOI: "10.1093/biomet/58.3.545"},
	{Key: "Phipson and Smyth 2010", Kind: Article, Authors: []Author{{"B.", "Phipson"}, {"G. K.", "Smyth"}},
		Title: "Permutation p-values should never be zero: calculating exact p-values when permutations are randomly drawn", In: "Statistical Applications in Genetics and Molecular Biology", Volume: "9", Number: "1", Year: "2010", Pages: "article 39", DOI: "10.2202/1544-6115.1585"},
	{Key: "Ruppert, Wand and Carroll 2003", Kind: Book, Authors: []Author{{"D.", "Ruppert"}, {"M. P.", "Wand"}, {"R. J.", "Carroll"}},
		Title: "Semiparametric regression", Place: "Cambridge", Press: "Cambridge University Press", Year: "2003", Part: "section 4.9", DOI: "10.1017/CBO9780511755453"},
	{Key: "Satterthwaite 1946", Kind: Article, Authors: []Author{{"F. E.", "Satterthwaite"}},
		Title: "An approximate distribution of estimates of variance components", In: "Biometrics Bulletin", Volume: "2", Number: "6", Year: "1946", Pages: "110–114"},
	{Key: "Schuirmann 1987", Kind: Article, Authors: []Author{{"D. J.", "Schuirmann"}},
		Title: "A comparison of the two one-sided tests procedure and the power approach for assessing the equivalence of average bioavailability", In: "Journal of Pharmacokinetics and Biopharmaceutics", Volume: "15", Number: "6", Year: "1987", Pages: "657–680", DOI: "10.1007/BF01068419"},
	{Key: "Silverman 1981", Kind: Article, Authors: []Author{{"B. W.", "Silverman"}},
		Title: "Using kernel density estimates to investigate multimodality", In: royalSociety, Volume: "43", Year: "1981", Pages: "97–99", DOI: "10.1111/j.2517-6161.1981.tb01155.x"},
	{Key: "Šidák 1967", Kind: Article, Authors: []Author{{"Z.", "Šidák"}},
		Title: "Rectangular confidence regions for the means of multivariate normal distributions", In: "Journal of the American Statistical Association", Volume: "62", Number: "318", Year: "1967", Pages: "626–633", DOI: "10.1080/01621459.1967.10482935"},
	{Key: "Tibshirani, Walther and Hastie 2001", Kind: Article, Authors: []Author{{"R.", "Tibshirani"}, {"G.", "Walther"}, {"T.", "Hastie"}},
		Title: "Estimating the number of clusters in a data set via the gap statistic", In: royalSociety, Volume: "63", Number: "2", Year: "2001", Pages: "411–423"},
	{Key: "Tobin 1958", Kind: Article, Authors: []Author{{"J.", "Tobin"}},
		Title: "Estimation of relationships for limited dependent variables", In: "Econometrica", Volume: "26", Number: "1", Year: "1958", Pages: "24–36", DOI: "10.2307/1907382"},
	{Key: "Viénot, Brettel and Mollon 1999", Kind: Article, Authors: []Author{{"F.", "Viénot"}, {"H.", "Brettel"}, {"J. D.", "Mollon"}},
		Title: "Digital video colourmaps for checking the legibility of displays by dichromats", In: "Color Research and Application", Volume: "24", Number: "4", Year: "1999", Pages: "243–252"},
	{Key: "Whittaker 1923", Kind: Article, Authors: []Author{{"E. T.", "Whittaker"}},
		Title: "On a new method of graduation", In: "Proceedings of the Edinburgh Mathematical Society", Volume: "41", Year: "1923", Pages: "63–75", DOI: "10.1017/S0013091500077853"},
	{Key: "Wilson 1927", Kind: Article, Authors: []Author{{"E. B.", "Wilson"}},
		Title: "Probable inference, the law of succession, and statistical inference", In: "Journal of the American Statistical Association", Volume: "22", Number: "158", Year: "1927", Pages: "209–212", DOI: "10.1080/01621459.1927.10502953"},
	{Key: "Zhang and Siegmund 2007", Kind: Article, Authors: []Author{{"N. R.", "Zhang"}, {"D. O.", "Siegmund"}},
		Title: "A modified Bayes information criterion with applications to the analysis of comparative genomic hybridization data", In: "Biometrics", Volume: "63", Number: "1", Year: "2007", Pages: "22–32", DOI: "10.1111/j.1541-0420.2006.00662.x"},
	{Key: "Zou and Donner 2008", Kind: Article, Authors: []Author{{"G. Y.", "Zou"}, {"A.", "Donner"}},
		Title: "Construction of confidence limits about effect measures: a general approach", In: "Statistics in Medicine", Volume: "27", Number: "10", Year: "2008", Pages: "1693–1702", DOI: "10.1002/sim.3095"},
}
