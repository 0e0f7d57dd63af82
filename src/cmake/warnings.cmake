# SPDX-License-Identifier: GPL-3.0-or-later
# Warnings for our own code only; third-party headers come in as SYSTEM.
option(CRADLEWRIGHT_WERROR "Warnings are errors (dev preset and CI)" OFF)
add_library(cradlewright_warnings INTERFACE)
if(PROJECT_IS_TOP_LEVEL)
  target_compile_options(cradlewright_warnings INTERFACE
    -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wold-style-cast -Wdouble-promotion
    # GCC 12 warns falsely on std::string operator+ (GCC bug 105651).
    $<$<CXX_COMPILER_ID:GNU>:-Wno-restrict>
    $<$<BOOL:${CRADLEWRIGHT_WERROR}>:-Werror>)
endif()
# Same numbers for any optimisation: no contraction into fused multiply-add.
target_compile_options(cradlewright_warnings INTERFACE -ffp-contract=off)
