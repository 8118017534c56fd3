// Package iiif answers: what does a library's manifest of page images say of a
// book, and how does a viewer show the book's wear on those images?
//
// It reads manifests of the IIIF Presentation API, versions 2 and 3
// (International Image Interoperability Framework, “Presentation API 2.1”, 2017,
// and “Presentation API 3.0”, 2020): canvases whose labels name pages, and
// ranges that are texts. Labels may be of either version's forms. Out go Web
// Annotations (W3C, “Web Annotation Data Model”, Recommendation, 2017) in
// Annotation Pages, one a canvas.
//
// A manifest is only ever read from the file that is given; nothing that it
// refers to is fetched.
package iiif
