#pragma once
/// One include for every C++ test: Catch2 2.13 and 3 alike, WithinRel and WithinAbs at hand.
#if __has_include(<catch2/catch_test_macros.hpp>)
#include <catch2/catch_test_macros.hpp>
#include <catch2/generators/catch_generators_all.hpp>
#include <catch2/matchers/catch_matchers_all.hpp>
#else
#include <catch2/catch.hpp>
#endif

using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
