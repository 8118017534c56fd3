package report

// Fixture is the invented study for tests from outside.
var Fixture = fixture
