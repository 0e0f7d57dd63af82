# SPDX-License-Identifier: GPL-3.0-or-later
# Warnings for our own code only; third-party headers come in as SYSTEM.
option(CRADLEWRIGHT_WERROR "Warnings are errors (dev preset and CI)" OFF)
add_library(cradlewright_warnings INTERFACE)
if(PROJECT_IS_TOP_LEVEL)
  target_compile_options(cradlewright_warnings INTERFACE
    -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wold-style-cast
    # Clang's also warns where a stored float is read as a double, as it is meant here.
    $<$<CXX_COMPILER_ID:GNU>:-Wdouble-promotion>
    # GCC 12 warns falsely on std::string operator+ (GCC bug 105651).
    $<$<CXX_COMPILER_ID:GNU>:-Wno-restrict>
    # Clang's also warns of a designated initializer that leaves the rest to its defaults.
    $<$<CXX_COMPILER_ID:Clang>:-Wno-missing-field-initializers>
    $<$<BOOL:${CRADLEWRIGHT_WERROR}>:-Werror>)
endif()
# Same numbers for any optimisation: no contraction into fused multiply-add.
target_compile_options(cradlewright_warnings INTERFACE -ffp-contract=off)
